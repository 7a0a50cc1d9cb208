"""The layout at true scale, over as many sheets as it takes, to lay on the hide and cut by."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing, joined
from patterns.drawing.layout import draw_hide, layout_scale
from patterns.drawing.paper import Paper
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import Piece
from workshop.documents.card import Card, write_head
from workshop.documents.cutting_sheet import flesh_words
from workshop.documents.heading import SheetHeading
from workshop.documents.true_sheet import block_width_mm, title_words, true_sheet_pdf

OVERVIEW_MM = 110.0  # how tall the whole hide is drawn, reduced, on the first page
OVERVIEW_GAP_MM = 8.0


def layout_tiles_pdf(
    request: LayoutRequest,
    layout: Layout,
    *,
    heading: SheetHeading,
    made_on: date,
    pieces: Sequence[Piece] = (),
    paper: Paper = "A4",
    flesh_up: bool = False,
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF of every hide at true scale, tiled; the first page says how to join the tiles.

    Parameters
    ----------
    request : LayoutRequest
    layout : Layout
    heading : SheetHeading
    made_on : date
    pieces : sequence of Piece
        Given, their finished lines are drawn too.
    paper : "A4" or "Letter"
    flesh_up : bool
        Draw every hide turned over, for marking on the flesh side; each page says so.
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    drawings = [
        draw_hide(hide, request, layout, pieces=pieces or None, scale=1.0, flesh_up=flesh_up)[0]
        for hide in request.hides
    ]
    kind = _("Layout, true scale")
    return true_sheet_pdf(
        drawings,
        heading=heading,
        paper=paper,
        title=title_words(kind, heading.style, heading.doll, heading.order_code),
        made_on=made_on,
        first_block=_first_block(request, layout, heading, made_on, paper, flesh_up=flesh_up),
        banner=flesh_words() if flesh_up else grain_words(),
        document_id=document_id,
    )


def grain_words() -> str:
    """Return the large words of every tile that is laid on the grain side."""
    return _("GRAIN SIDE UP")


def _first_block(
    request: LayoutRequest,
    layout: Layout,
    heading: SheetHeading,
    made_on: date,
    paper: Paper,
    *,
    flesh_up: bool,
) -> Drawing:
    """Return the head of the first page: whose layout it is, and how the tiles are used."""
    card = Card(block_width_mm(paper, heading))
    write_head(card, _("Layout on the hide, true scale"), heading, made_on)
    card.rule()
    hides = ", ".join(hide.id for hide in request.hides)
    card.paragraph(
        _("{placed} of {of} pieces on {hides}; {gap} mm between pieces.").format(
            placed=layout.placed,
            of=layout.requested,
            hides=hides,
            gap=f"{request.spacing_mm:g}",
        ),
        face="bold",
    )
    card.space(2.0)
    if flesh_up:
        card.paragraph(
            _(
                "Flesh side up: lay the hide with its grain down. Everything is drawn mirrored but"
                " the words; marked on the grain, every left piece would come out a right one."
            ),
            face="bold",
            ink="accent",
        )
    else:
        card.paragraph(_("Grain side up: lay the hide with its grain towards you."))
    card.space(2.0)
    card.paragraph(
        _(
            "Print at 100 % and measure the bar on every page. Lay the sheets out by the small map"
            " at their foot; neighbours overlap by 10 mm: put their crosses on each other, tape,"
            " then lay the whole on the hide, its outline on the hide's edge, the arrow along the"
            " tight way."
        )
    )
    card.space(2.0)
    card.paragraph(
        _(
            "Go over the hide by eye and hand first: a layout knows only the defects that were"
            " marked. Mark through the paper or prick the corners; cut away from the hand, on a"
            " mat, with a sharp blade."
        ),
        ink="quiet",
    )
    card.space(OVERVIEW_GAP_MM)
    if len(request.hides) > 1:
        return card.drawing()
    return joined((card.drawing(), _overview(request, layout, card, flesh_up=flesh_up)))


def _overview(request: LayoutRequest, layout: Layout, card: Card, *, flesh_up: bool) -> Drawing:
    """Return the whole hide, reduced, in the middle under the words."""
    scale = layout_scale(request.hides, card.width_mm - 20.0, OVERVIEW_MM)
    whole = draw_hide(request.hides[0], request, layout, scale=scale, flesh_up=flesh_up)[0]
    size = whole.extents
    return whole.moved(
        (card.width_mm - size.width_mm) / 2.0 - size.left_mm, card.level_mm - size.top_mm
    )
