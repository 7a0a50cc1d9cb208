"""Drawings of the cores as SVG for pages."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from xml.sax.saxutils import quoteattr

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.layout import draw_layout
from patterns.drawing.pieces import PIECES_DRAWING, draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.errors import PatternError
from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document
from patterns.foot import Foot
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import PieceSet
from workshop.documents.cutting_sheet import sheet_count
from workshop.documents.heading import SheetHeading
from workshop.drafting import Asked, projected_boot, worn_views
from workshop.drawn import drawing_from_document
from workshop.kept_results import kept
from workshop.mesh_files import foot_read
from workshop.models import Quote, WorkshopProfile
from workshop.selectors.printers import printer_in_use


def svg(drawing: object, *, title: str, description: str = "") -> SafeString:
    """Return a drawing as SVG that may stand in a page: its writer escapes every word."""
    return mark_safe(drawing_svg(drawing, title=title, description=description))


@dataclass(frozen=True, slots=True)
class PiecePictures:
    """The pieces as drawn on a page, and how many sheets of paper they take."""

    svg: SafeString
    sheets: int


def piece_pictures(
    pieces: PieceSet, *, paper: str, source: Mapping[str, Any] | None = None
) -> PiecePictures:
    """Return the drawing of all pieces and its sheets, drawn once for the same pieces.

    `source` is what the pieces follow from, where it is known: much shorter than they are.
    """
    made_from = {"pieces": document_from_pieces(pieces)} if source is None else {"asked": source}
    printer = printer_in_use()
    if not printer.is_true:
        made_from["printer"] = [printer.across, printer.along]
    document = kept(
        "pictures",
        {**made_from, "drawn": PIECES_DRAWING, "paper": paper, "language": get_language()},
        lambda: {
            "svg": str(_pieces_svg(pieces)),
            "sheets": sheet_count(
                pieces,
                heading=SheetHeading(printer=printer),
                made_on=date(2000, 1, 1),
                paper=paper,
            ),
        },
    )
    # The cache is our own folder; what is in it came from our own writer, which escapes all words.
    return PiecePictures(mark_safe(document["svg"]), int(document["sheets"]))


def marked(drawing: SafeString, piece: str) -> SafeString:
    """Return a drawing with one of its pieces marked, as our own writer names pieces' rooms."""
    if not piece:
        return drawing
    room = f'class="fill-part" data-piece={quoteattr(piece)}'
    return mark_safe(drawing.replace(room, room.replace("fill-part", "fill-part picked")))


VIEW_WORDS = {
    "side": gettext_lazy("From its outer side"),
    "top": gettext_lazy("From above"),
    "back": gettext_lazy("From behind"),
    "front": gettext_lazy("From the toes"),
}


def view_pictures(asked: Asked, piece: str = "") -> list[tuple[str, SafeString]]:
    """Return the shoe on its foot from four sides, each with its words; one piece marked.

    Raises
    ------
    PatternError
        As `workshop.drafting.worn_views` raises.
    """
    drawn = worn_views(asked)
    return [
        (str(words), marked(svg(drawn[name], title=str(words)), piece))
        for name, words in VIEW_WORDS.items()
    ]


def pieces_svg(pieces: PieceSet, *, source: Mapping[str, Any] | None = None) -> SafeString:
    """Return the drawing of all pieces."""
    return piece_pictures(pieces, paper=WorkshopProfile.current().paper, source=source).svg


def _pieces_svg(pieces: PieceSet) -> SafeString:
    return svg(
        draw_piece_set(pieces, with_parts=True, with_stretch=True),
        title=_("The pieces for one pair"),
        description=_("Wide line: cut. Narrow line: finished edge. Dashes: stitches and folds."),
    )


def foot_kept(document: Mapping[str, Any]) -> Foot | None:
    """Return the foot a quote keeps, or None when a rule made since the quote refuses it."""
    try:
        return foot_read(document)
    except PatternError:
        return None


def quoted_shoe(quote: Quote) -> Drawing:
    """Return the shoe of a quote as it was drawn for it; older quotes keep only its pieces."""
    if "worn" in quote.drawings:
        return drawing_from_document(quote.drawings["worn"])
    pieces = pieces_from_document(quote.drawings["pieces"])
    return projected_boot(pieces, foot_kept(quote.snapshot["foot"]))


def shoe_svg(drawing: Drawing) -> SafeString:
    """Return the picture of the finished shoe."""
    return svg(
        drawing,
        title=_("The finished shoe from its outer side"),
        description=_("Drawn from its own pieces, with its height and the length of the foot."),
    )


def layout_svg(request: LayoutRequest, layout: Layout, *, flesh_up: bool = False) -> SafeString:
    """Return the hide with the pieces that lie on it, turned over if asked."""
    title = _("The pieces on the hide, flesh side up") if flesh_up else _("The pieces on the hide")
    return svg(draw_layout(request, layout, flesh_up=flesh_up), title=title)
