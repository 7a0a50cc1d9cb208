"""Drawings of the cores as SVG for pages."""

from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from patterns.drawing.layout import draw_layout
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.exchange.pieces_file import document_from_pieces
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import PieceSet
from workshop.documents.cutting_sheet import sheet_count
from workshop.documents.heading import SheetHeading
from workshop.kept_results import kept
from workshop.models import WorkshopProfile


def svg(drawing: object, *, title: str, description: str = "") -> SafeString:
    """Return a drawing as SVG that may stand in a page: its writer escapes every word."""
    return mark_safe(drawing_svg(drawing, title=title, description=description))


@dataclass(frozen=True, slots=True)
class PiecePictures:
    """The pieces as drawn on a page, and how many sheets of paper they take."""

    svg: SafeString
    sheets: int


def piece_pictures(pieces: PieceSet, *, paper: str) -> PiecePictures:
    """Return the drawing of all pieces and its sheets, drawn once for the same pieces."""
    document = kept(
        "pictures",
        {"pieces": document_from_pieces(pieces), "paper": paper, "language": get_language()},
        lambda: {
            "svg": str(_pieces_svg(pieces)),
            "sheets": sheet_count(
                pieces, heading=SheetHeading(), made_on=date(2000, 1, 1), paper=paper
            ),
        },
    )
    # The cache is our own folder; what is in it came from our own writer, which escapes all words.
    return PiecePictures(mark_safe(document["svg"]), int(document["sheets"]))


def pieces_svg(pieces: PieceSet) -> SafeString:
    """Return the drawing of all pieces."""
    return piece_pictures(pieces, paper=WorkshopProfile.current().paper).svg


def _pieces_svg(pieces: PieceSet) -> SafeString:
    return svg(
        draw_piece_set(pieces),
        title=_("The pieces for one pair"),
        description=_("Wide line: cut. Narrow line: finished edge. Dashes: stitches and folds."),
    )


def layout_svg(request: LayoutRequest, layout: Layout) -> SafeString:
    """Return the hide with the pieces that lie on it."""
    return svg(draw_layout(request, layout), title=_("The pieces on the hide"))
