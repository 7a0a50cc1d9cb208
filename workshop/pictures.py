"""Drawings of the cores as SVG for pages."""

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from patterns.drawing.layout import draw_layout
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import PieceSet


def svg(drawing: object, *, title: str, description: str = "") -> SafeString:
    """Return a drawing as SVG that may stand in a page: its writer escapes every word."""
    return mark_safe(drawing_svg(drawing, title=title, description=description))


def pieces_svg(pieces: PieceSet) -> SafeString:
    """Return all pieces of a set, side by side."""
    return svg(
        draw_piece_set(pieces),
        title=_("The pieces for one pair"),
        description=_("Wide line: cut. Narrow line: finished edge. Dashes: stitches and folds."),
    )


def layout_svg(request: LayoutRequest, layout: Layout) -> SafeString:
    """Return the hide with the pieces that lie on it."""
    return svg(draw_layout(request, layout), title=_("The pieces on the hide"))
