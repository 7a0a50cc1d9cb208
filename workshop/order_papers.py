"""Every paper and file of an order, made from what was worked out: for its addresses, or as one.

`PAPERS` is the table: a name, what it needs, and the function that makes it. Views send one of
them; `bundle` puts all that can be made into one file.
"""

import datetime
import io
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from django.utils import timezone
from django.utils.translation import gettext as _

from patterns.drawing.paper import TRUE_PRINTER, Paper
from patterns.errors import PatternError
from patterns.exchange.foot_file import document_from_foot
from patterns.exchange.layout_file import document_from_layout
from patterns.exchange.outline_sheet import sheet_of_layout, sheet_of_pieces
from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document
from patterns.exchange.svg_out import sheet_svg
from patterns.pieces.piece import PieceSet
from patterns.try_on import strips_of
from workshop.bill_values import bill_paper_of
from workshop.bridge import foot_by_measures
from workshop.care_values import care_card_of
from workshop.documents.bill_paper import bill_pdf
from workshop.documents.care_card import care_card_pdf
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.documents.guide_units import Units
from workshop.documents.heading import SheetHeading
from workshop.documents.layout_sheet import layout_pdf
from workshop.documents.layout_tiles import layout_tiles_pdf
from workshop.documents.making_guide import heading_for_sale, making_guide_pdf
from workshop.documents.mock_up_sheet import mock_up_sheet_pdf
from workshop.documents.pair_label import pair_label_pdf
from workshop.documents.price_breakdown import price_breakdown_pdf
from workshop.documents.quote_paper import quote_pdf
from workshop.documents.try_on_sheet import try_on_sheet_pdf
from workshop.guides import guide_of
from workshop.models import Bill, Commission, FootVersion, Quote, WorkshopProfile
from workshop.paper_values import quote_paper_of
from workshop.selectors.corrections import correction_lines, corrections_of, in_force
from workshop.selectors.printers import printer_in_use
from workshop.selectors.styles import pattern_named, pattern_of
from workshop.services.quoting import Worked
from workshop.strict_json import write_json

BOOT_HEIGHT = "boot_height_mm"
CARD_MATERIALS = ("card", "sole")
Need = Literal["pieces", "layout", "breakdown"]


@dataclass(frozen=True, slots=True)
class PaperAsk:
    """A paper asked for: of which job, worked out how, on which paper, for which printer's sheets.

    ``for_printer`` False draws sheets as they are, for somebody else's printer.
    """

    commission: Commission
    worked: Worked
    made_on: datetime.date
    paper: Paper = "A4"
    flesh_up: bool = False
    for_printer: bool = True
    for_sale: bool = False
    units: Units = "mm"

    @property
    def pieces(self) -> PieceSet:
        """Return the pieces, which every paper but the foot's needs."""
        assert self.worked.pieces is not None
        return self.worked.pieces

    @property
    def heading(self) -> SheetHeading:
        """Return for whom and of what it is."""
        choice = self.worked.choice
        return order_heading(self.commission, choice.foot, choice.style.style.name)

    @property
    def cut_heading(self) -> SheetHeading:
        """Return the heading of what is cut by: the corrections drawn in, true from the printer."""
        style = self.worked.choice.style.style
        lines = correction_lines(
            self.pieces.corrections,
            pattern_of(style),
            in_force(corrections_of(self.commission.doll, style)),
        )
        return self.printed(replace(self.heading, corrections=lines))

    def printed(self, heading: SheetHeading) -> SheetHeading:
        """Return a heading for the printer in use, unless it is printed elsewhere."""
        return replace(heading, printer=printer_in_use()) if self.for_printer else heading


def order_heading(commission: Commission, foot: FootVersion, style: str) -> SheetHeading:
    """Return whom and what a sheet is for."""
    return SheetHeading(
        workshop=WorkshopProfile.current().name,
        doll=f"{commission.doll.name} {commission.doll.code}",
        style=style,
        foot_version=f"{foot.get_foot_side_display()} {foot.version}",
        order_code=commission.code,
        drawn_foot=foot.foot_side,
    )


def quote_sheet_heading(quote: Quote, *, for_printer: bool = True) -> SheetHeading:
    """Return the heading of what a quote's pieces are cut by."""
    heading = order_heading(quote.commission, quote.foot, quote.snapshot["style"]["name"])
    pieces = pieces_from_document(quote.drawings["pieces"])
    pattern = pattern_named(quote.snapshot["style"]["file"])
    return replace(
        heading,
        order_code=quote.code,
        corrections=correction_lines(pieces.corrections, pattern, ()),
        printer=printer_in_use() if for_printer else TRUE_PRINTER,
    )


def topline_mm(pieces: PieceSet) -> float | None:
    """Return how high a boot's topline stands, None for what has no shaft."""
    height = pieces.parameters.get(BOOT_HEIGHT)
    return None if height is None else round(float(height), 1)


def _cutting_sheet(ask: PaperAsk) -> bytes:
    return cutting_sheet_pdf(
        ask.pieces,
        heading=ask.cut_heading,
        made_on=ask.made_on,
        paper=ask.paper,
        flesh_up=ask.flesh_up,
    )


def _card_templates(ask: PaperAsk) -> bytes:
    """Draw insole, outsole and what else is cut from card, to glue on card and keep."""
    kept = tuple(piece for piece in ask.pieces.pieces if piece.material in CARD_MATERIALS)
    return cutting_sheet_pdf(
        replace(ask.pieces, pieces=kept, messages=()),
        heading=ask.cut_heading,
        made_on=ask.made_on,
        paper=ask.paper,
        card_templates=True,
    )


def _mock_up(ask: PaperAsk) -> bytes:
    return mock_up_sheet_pdf(
        ask.pieces, heading=ask.cut_heading, made_on=ask.made_on, paper=ask.paper
    )


def _try_on(ask: PaperAsk) -> bytes:
    # Whoever holds the doll prints this one, on a printer of their own.
    strips = strips_of(foot_by_measures(ask.worked.choice.foot), topline_mm=topline_mm(ask.pieces))
    heading = replace(ask, for_printer=False).cut_heading
    return try_on_sheet_pdf(
        ask.pieces, strips, heading=heading, made_on=ask.made_on, paper=ask.paper
    )


def _layout_sheet(ask: PaperAsk) -> bytes:
    assert ask.worked.request is not None
    assert ask.worked.layout is not None
    return layout_pdf(
        ask.worked.request,
        ask.worked.layout,
        heading=ask.heading,
        made_on=ask.made_on,
        paper=ask.paper,
        flesh_up=ask.flesh_up,
    )


def _layout_tiles(ask: PaperAsk) -> bytes:
    assert ask.worked.request is not None
    assert ask.worked.layout is not None
    return layout_tiles_pdf(
        ask.worked.request,
        ask.worked.layout,
        heading=ask.printed(ask.heading),
        made_on=ask.made_on,
        pieces=ask.pieces.pieces,
        paper=ask.paper,
        flesh_up=ask.flesh_up,
    )


def stops_of(worked: Worked) -> str:
    """Return why no guide is made to these pieces, empty if one can be."""
    assert worked.pieces is not None
    stops = [said.text for said in worked.pieces.messages if said.level == "stop"]
    if not stops:
        return ""
    return _("No guide is made to pieces that may not be cut: %s") % " ".join(stops)


def _guide(ask: PaperAsk) -> bytes:
    if stops_of(ask.worked):
        raise PatternError(stops_of(ask.worked), code="may-not-be-cut")
    heading = heading_for_sale(ask.heading) if ask.for_sale else ask.cut_heading
    guide = guide_of(ask.worked, heading=heading, units=ask.units)
    return making_guide_pdf(guide, made_on=ask.made_on, paper=ask.paper)


def _care_card(ask: PaperAsk) -> bytes:
    return care_card_pdf(care_card_of(ask.commission), made_on=ask.made_on, paper=ask.paper)


def _label(ask: PaperAsk) -> bytes:
    assert ask.worked.foot is not None
    return pair_label_pdf(
        care_card_of(ask.commission),
        foot_length_mm=ask.worked.foot.foot_length_mm,
        made_on=ask.made_on,
    )


def _breakdown(ask: PaperAsk) -> bytes:
    assert ask.worked.breakdown is not None
    return price_breakdown_pdf(
        ask.worked.breakdown, heading=ask.heading, made_on=ask.made_on, paper=ask.paper
    )


def _pieces_svg(ask: PaperAsk) -> bytes:
    title = f"{ask.commission.code} {ask.pieces.style}"
    return sheet_svg(sheet_of_pieces(ask.pieces), title=title)


def _pieces_dxf(ask: PaperAsk) -> bytes:
    # Loaded here, for the same reason as in `workshop.documents.paper`.
    from patterns.exchange.dxf import pieces_dxf

    return pieces_dxf(ask.pieces)


def _pieces_json(ask: PaperAsk) -> bytes:
    return write_json(document_from_pieces(ask.pieces))


def _layout_svg(ask: PaperAsk) -> bytes:
    assert ask.worked.request is not None
    assert ask.worked.layout is not None
    sheet = sheet_of_layout(ask.worked.request, ask.worked.layout, ask.pieces.pieces)
    return sheet_svg(sheet, title=f"{ask.commission.code} {ask.pieces.style}")


def _layout_dxf(ask: PaperAsk) -> bytes:
    from patterns.exchange.dxf import sheet_dxf

    assert ask.worked.request is not None
    assert ask.worked.layout is not None
    return sheet_dxf(sheet_of_layout(ask.worked.request, ask.worked.layout, ask.pieces.pieces))


def _layout_json(ask: PaperAsk) -> bytes:
    assert ask.worked.layout is not None
    return write_json(document_from_layout(ask.worked.layout))


def _foot_json(ask: PaperAsk) -> bytes:
    assert ask.worked.foot is not None
    return write_json(document_from_foot(ask.worked.foot))


CONTENT_TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
}
PAPERS: dict[str, tuple[Need, Callable[[PaperAsk], bytes]]] = {
    "cutting-sheet.pdf": ("pieces", _cutting_sheet),
    "card-templates.pdf": ("pieces", _card_templates),
    "mock-up.pdf": ("pieces", _mock_up),
    "try-on.pdf": ("pieces", _try_on),
    "hide.pdf": ("layout", _layout_sheet),
    "layout-tiles.pdf": ("layout", _layout_tiles),
    "making-guide.pdf": ("pieces", _guide),
    "care-card.pdf": ("pieces", _care_card),
    "label.pdf": ("pieces", _label),
    "breakdown.pdf": ("breakdown", _breakdown),
    "pieces.svg": ("pieces", _pieces_svg),
    "pieces.dxf": ("pieces", _pieces_dxf),
    "pieces.json": ("pieces", _pieces_json),
    "layout.svg": ("layout", _layout_svg),
    "layout.dxf": ("layout", _layout_dxf),
    "layout.json": ("layout", _layout_json),
    "foot.json": ("pieces", _foot_json),
}


def paper_bytes(name: str, ask: PaperAsk) -> bytes | None:
    """Return a paper of `PAPERS`; None while a stage it needs is missing.

    Raises
    ------
    PatternError
        It cannot be drawn, such as a strip round a topline below the ankle.
    """
    need, make = PAPERS[name]
    if ask.worked.pieces is None or getattr(ask.worked, need) is None:
        return None
    return make(ask)


def all_papers(ask: PaperAsk, *, with_money: bool) -> Iterator[tuple[str, Callable[[], bytes]]]:
    """Yield the name of every file of an order and what makes it; quotes and bills come last."""
    code = ask.commission.code
    for name, (need, _make) in PAPERS.items():
        if getattr(ask.worked, need) is not None and (with_money or need != "breakdown"):
            yield f"{code}-{name}", lambda name=name: paper_bytes(name, ask) or b""
    if not with_money:
        return
    for quote in ask.commission.quotes.order_by("version"):
        yield f"{quote.code}.pdf", lambda quote=quote: quote_pdf(quote_paper_of(quote))
    for bill in Bill.objects.filter(commission=ask.commission).order_by("id"):
        yield (
            f"{bill.file_name}.pdf",
            lambda bill=bill: bill_pdf(bill_paper_of(bill), paper=ask.paper),
        )


def bundle(
    ask: PaperAsk, *, with_money: bool, progress: Callable[[int, int, str], None]
) -> tuple[bytes, list[str]]:
    """Return one ZIP of everything that can be made for an order, and what could not and why.

    Parameters
    ----------
    ask : PaperAsk
    with_money : bool
        Breakdown, quotes and bills too.
    progress : function
        Called with how many files are done, of how many, and the next one's name.
    """
    files = list(all_papers(ask, with_money=with_money))
    folder = ask.commission.code
    # One day for all: the same order packed twice on a day is the same file.
    day = ask.made_on.timetuple()[:3]
    faults = []
    output = io.BytesIO()
    with zipfile.ZipFile(output, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, (name, make) in enumerate(files):
            progress(number, len(files), name)
            try:
                content = make()
            except PatternError as error:
                faults.append(f"{name}: {error}")
                continue
            entry = zipfile.ZipInfo(f"{folder}/{name}", (*day, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)
    return output.getvalue(), faults


def today() -> datetime.date:
    """Return the day where the workshop is."""
    return timezone.localdate()
