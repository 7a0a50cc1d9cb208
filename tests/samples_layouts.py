"""Small invented hides and pieces, the sample files, and the independent checker on layouts."""

import json
import math
from functools import cache
from pathlib import Path

from patterns.exchange.layout_file import document_from_layout, request_from_document
from patterns.hide import Hide
from patterns.layout import Layout, LayoutPiece, LayoutRequest
from tests.verify_layout import check

NEST_FILES = Path(__file__).parent / "data" / "nest"
SAMPLES = ("free_420x330", "hide_600x400", "remnant_300x200")


@cache
def sample_document(name: str) -> dict:
    """Return one of the sample files as read."""
    return json.loads((NEST_FILES / f"{name}.json").read_text())


def sample_request(name: str) -> LayoutRequest:
    """Return one of the sample files as a request."""
    return request_from_document(sample_document(name))


def rectangle(width_mm: float, height_mm: float, x_mm: float = 0.0, y_mm: float = 0.0):
    """Return a rectangle's outline from its lower left corner."""
    return (
        (x_mm, y_mm),
        (x_mm + width_mm, y_mm),
        (x_mm + width_mm, y_mm + height_mm),
        (x_mm, y_mm + height_mm),
    )


def ring_round(radii_mm, x_mm: float = 0.0, y_mm: float = 0.0):
    """Return an outline whose corners lie at those distances round a point, evenly turned."""
    step = 2.0 * math.pi / len(radii_mm)
    return tuple(
        (x_mm + radius * math.cos(k * step), y_mm + radius * math.sin(k * step))
        for k, radius in enumerate(radii_mm)
    )


def square_hide(side_mm: float = 100.0, name: str = "H-0001", **more) -> Hide:
    """Return a square hide."""
    return Hide(name, rectangle(side_mm, side_mm), **more)


def plain_piece(name: str, outline_mm, quantity: int, **more) -> LayoutPiece:
    """Return a piece that may lie upright only, unless more is said."""
    return LayoutPiece(name, tuple(outline_mm), quantity, **more)


def instance_of(request: LayoutRequest) -> dict:
    """Return a request in the words of the checker's file."""
    return {
        "containers": [
            {
                "id": hide.id,
                "outer": [list(point) for point in hide.outline_mm],
                "holes": [[list(point) for point in ring] for ring in hide.defects_mm],
                "areas": [
                    {"grade": area.grade, "outer": [list(point) for point in area.outline_mm]}
                    for area in hide.areas
                ],
            }
            for hide in request.hides
        ],
        "pieces": [
            {
                "id": piece.id,
                "outer": [list(point) for point in piece.outline_mm],
                "quantity": piece.quantity,
                "allowed_rotations": (
                    "free"
                    if piece.allowed_rotations_deg is None
                    else list(piece.allowed_rotations_deg)
                ),
                "rotation_tolerance_deg": piece.rotation_tolerance_deg,
                "mirrored_quantity": piece.mirrored_quantity,
                "mirror_free": piece.mirror_free,
                "set": piece.set_name,
                "per_set": piece.per_set,
                "per_set_mirrored": piece.per_set_mirrored,
                "grade": piece.grade,
            }
            for piece in request.pieces
        ],
        "fixed": [
            {
                "id": row.id,
                "container": row.container,
                "x": row.x_mm,
                "y": row.y_mm,
                "rotation_deg": row.rotation_deg,
                "mirrored": row.mirrored,
            }
            for row in request.fixed
        ],
        "spacing_mm": request.spacing_mm,
        "edge_spacing_mm": request.edge_spacing_mm,
    }


def verified(request: LayoutRequest, layout: Layout) -> dict:
    """Return the independent checker's answer, after it found no fault."""
    answer = check(instance_of(request), document_from_layout(layout))
    assert answer["errors"] == []
    assert answer["placed"] == layout.placed
    assert (answer["complete_sets"] or 0) == layout.complete_sets
    return answer
