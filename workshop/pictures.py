"""Drawings of the cores as SVG for pages."""

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from patterns.drawing.boot import BOOT_DRAWING, draw_boot
from patterns.drawing.drawing import Drawing
from patterns.drawing.layout import draw_layout
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.errors import PatternError
from patterns.exchange.foot_file import document_from_foot, foot_from_document, mesh_name
from patterns.exchange.pieces_file import document_from_pieces
from patterns.foot import Foot
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import PieceSet
from patterns.projection import shape_of_foot
from workshop.documents.cutting_sheet import sheet_count
from workshop.documents.heading import SheetHeading
from workshop.kept_results import kept
from workshop.mesh_files import ENDING, mesh_content
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


def foot_kept(document: Mapping[str, Any]) -> Foot | None:
    """Return the foot a quote keeps, or None when a rule made since the quote refuses it."""
    try:
        name = mesh_name(document)
        content = mesh_content(name.removesuffix(ENDING)) if name is not None else None
        return foot_from_document(document, mesh_content=content)
    except PatternError:
        return None


def boot_drawing(pieces: PieceSet, foot: Foot | None) -> Drawing:
    """Return the finished boot; the pieces without words where they make no laced boot."""
    if foot is not None:
        with contextlib.suppress(PatternError):
            return draw_boot(pieces, shape_of_foot(foot))
    return draw_piece_set(pieces, labelled=False)


def boot_svg(pieces: PieceSet, foot: Foot | None) -> SafeString:
    """Return the picture of the finished boot, drawn once for the same pieces and foot."""
    source = {
        "drawn": BOOT_DRAWING,
        "pieces": document_from_pieces(pieces),
        "foot": document_from_foot(foot) if foot is not None else None,
        "language": get_language(),
    }
    document = kept("boot", source, lambda: {"svg": str(_boot_svg(pieces, foot))})
    # As with the pieces: our own folder, our own writer.
    return mark_safe(document["svg"])


def _boot_svg(pieces: PieceSet, foot: Foot | None) -> SafeString:
    return svg(
        boot_drawing(pieces, foot),
        title=_("The finished boot from the side"),
        description=_("Drawn from its own pieces, with its height and the length of the foot."),
    )


def layout_svg(request: LayoutRequest, layout: Layout) -> SafeString:
    """Return the hide with the pieces that lie on it."""
    return svg(draw_layout(request, layout), title=_("The pieces on the hide"))
