"""The layout sheet: each hide on a page, drawn at a stated scale, with what it yields."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing, Words, box_round, joined
from patterns.drawing.layout import KeyLine, draw_hide, layout_scale, scale_words
from patterns.drawing.paper import MARGIN_MM, Paper, page_size
from patterns.drawing.pdf import Page, PagePart, pages_pdf
from patterns.hide import Hide
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import Piece
from patterns.units import mm2_to_dm2
from workshop.documents.card import Card, write_head
from workshop.documents.heading import SheetHeading

# What rulers, numbers, name and scale bar take round the hide itself.
FRAME_ACROSS_MM = 24.0
FRAME_UP_MM = 46.0
HEAD_MM = 36.0
FOOT_MM = 36.0


def layout_pdf(
    request: LayoutRequest,
    layout: Layout,
    *,
    heading: SheetHeading,
    made_on: date,
    pieces: Sequence[Piece] | None = None,
    paper: Paper = "A4",
    flesh_up: bool = False,
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF with one page a hide, upright or lying, whichever shows it larger.

    Parameters
    ----------
    request : LayoutRequest
    layout : Layout
    heading : SheetHeading
    made_on : date
    pieces : sequence of Piece, optional
        Given, their finished lines are drawn too.
    paper : "A4" or "Letter"
    flesh_up : bool
        Draw every hide turned over, for marking on the flesh side; each page says so.
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    title = " · ".join(part for part in (_("Layout"), heading.style, heading.subject) if part)
    pages = [
        _page(hide, request, layout, heading, made_on, pieces, paper, number, flesh_up)
        for number, hide in enumerate(request.hides, start=1)
    ]
    return pages_pdf(
        pages,
        title=title,
        made_on=made_on,
        language=get_language() or "en",
        document_id=document_id,
    )


def _page(
    hide: Hide,
    request: LayoutRequest,
    layout: Layout,
    heading: SheetHeading,
    made_on: date,
    pieces: Sequence[Piece] | None,
    paper: Paper,
    number: int,
    flesh_up: bool,
) -> Page:
    landscape = _scale(hide, paper, landscape=True) > _scale(hide, paper, landscape=False)
    width, height = page_size(paper, landscape=landscape)
    scale = _scale(hide, paper, landscape=landscape)
    drawing, key = draw_hide(hide, request, layout, pieces=pieces, scale=scale, flesh_up=flesh_up)
    inner = width - 2 * MARGIN_MM - 0.5
    head = Card(inner)
    titled = replace(heading, style=heading.style or _("Layout on leather"))
    write_head(head, _("Layout on leather, {scale}").format(scale=scale_words(scale)),
               titled, made_on)  # fmt: skip
    head.rule()
    foot = _foot(inner, hide, request, layout, key, flesh_up=flesh_up)
    extents = drawing.extents
    left = MARGIN_MM + (inner - extents.width_mm) / 2 - extents.left_mm
    top = height - MARGIN_MM - HEAD_MM
    foot_top = top - extents.height_mm - 6.0
    page_words = _("page {number} of {count}").format(number=number, count=len(request.hides))
    corner = Words(page_words, width - MARGIN_MM, MARGIN_MM + 1.0, 3.4, "end", ink="quiet")
    return Page(
        width,
        height,
        (
            PagePart(head.drawing(), MARGIN_MM + 0.25, height - MARGIN_MM - 0.5),
            PagePart(drawing, left, top - extents.top_mm),
            PagePart(joined((foot,)), MARGIN_MM + 0.25, foot_top),
            PagePart(Drawing(words=(corner,))),
        ),
    )


def _scale(hide: Hide, paper: Paper, *, landscape: bool) -> float:
    width, height = page_size(paper, landscape=landscape)
    return layout_scale(
        [hide],
        width - 2 * MARGIN_MM - FRAME_ACROSS_MM,
        height - 2 * MARGIN_MM - HEAD_MM - FRAME_UP_MM - FOOT_MM,
    )


def _foot(
    width_mm: float,
    hide: Hide,
    request: LayoutRequest,
    layout: Layout,
    key: Sequence[KeyLine],
    *,
    flesh_up: bool,
) -> Drawing:
    card = Card(width_mm)
    card.space(5.0)
    on_hide = [place for place in layout.placements if place.container == hide.id]
    box = box_round(hide.outline_mm)
    card.write(
        _("hide {width} by {height} mm; {here} of {placed} pieces placed lie on it").format(
            width=f"{box.width_mm:.0f}",
            height=f"{box.height_mm:.0f}",
            here=len(on_hide),
            placed=layout.placed,
        )
    )
    card.write(_yield_words(layout), at_mm=width_mm, anchor="end", face="bold", width_mm=90.0)
    if layout.placed < layout.requested:
        card.paragraph(
            _("{missing} of {asked} pieces asked for found no place.").format(
                missing=layout.requested - layout.placed, asked=layout.requested
            ),
            face="bold",
            ink="accent",
        )
    if key:
        card.space(1.0)
        card.paragraph(_("Numbers: {key}").format(key="; ".join(_key_words(k) for k in key)))
    card.paragraph(
        _("{face} Go over the hide by eye and hand first: a layout knows only the defects"
          " that were marked. Spacing {gap} mm.").format(
            face=_face_words(flesh_up), gap=f"{request.spacing_mm:g}"
        ),
        ink="accent" if flesh_up else "quiet",
    )  # fmt: skip
    return card.drawing()


def _face_words(flesh_up: bool) -> str:
    """Return which side the page shows, and what that means for left and right."""
    if flesh_up:
        return _(
            "Flesh side up: lay the hide with its grain down. Everything is drawn mirrored but the"
            " words; “mirrored” still tells how a piece looks on its grain side."
        )
    return _("Grain side up.")


def _yield_words(layout: Layout) -> str:
    pairs = ngettext("{n} pair", "{n} pairs", layout.complete_sets).format(n=layout.complete_sets)
    return _("{pairs}, {used} dm² used, {percent} %").format(
        pairs=pairs,
        used=f"{mm2_to_dm2(layout.used_area_mm2):.2f}",
        percent=f"{100 * layout.density:.0f}",
    )


def _key_words(line: KeyLine) -> str:
    mirrored = _(", mirrored") if line.mirrored else ""
    return f"{line.number} {line.name}{mirrored}"
