"""Drawings as plain values, for the cache and for a quote's snapshot, and back."""

from collections.abc import Mapping, Sequence
from typing import Any

from patterns.drawing.drawing import Drawing, Fill, Stroke, Words
from patterns.pieces.piece import Point

PLACES = 3  # a thousandth of a mm on paper

Points = tuple[Point, ...]


def document_from_drawing(drawing: Drawing) -> dict[str, Any]:
    """Return a drawing as plain values, lengths to a thousandth of a mm."""
    return {
        "scale": drawing.scale,
        "strokes": [[s.kind, s.closed, _rounded(s.points_mm)] for s in drawing.strokes],
        "fills": [
            [f.kind, _rounded(f.ring_mm), [_rounded(hole) for hole in f.holes_mm]]
            + ([f.part] if f.part else [])
            for f in drawing.fills
        ],
        "words": [
            {
                "text": w.text,
                "at": [round(w.x_mm, PLACES), round(w.y_mm, PLACES)],
                "size_mm": w.size_mm,
                "anchor": w.anchor,
                "angle_deg": w.angle_deg,
                "face": w.face,
                "ink": w.ink,
            }
            for w in drawing.words
        ],
    }


def drawing_from_document(document: Mapping[str, Any]) -> Drawing:
    """Return the drawing that `document_from_drawing` wrote."""
    return Drawing(
        tuple(Stroke(_points(p), kind, closed) for kind, closed, p in document["strokes"]),
        tuple(
            Fill(_points(ring), kind, tuple(_points(hole) for hole in holes), *part)
            for kind, ring, holes, *part in document["fills"]
        ),
        tuple(
            Words(
                row["text"],
                *row["at"],
                row["size_mm"],
                row["anchor"],
                row["angle_deg"],
                row["face"],
                row["ink"],
            )
            for row in document["words"]
        ),
        float(document["scale"]),
    )


def _rounded(points: Sequence[Point]) -> list[list[float]]:
    return [[round(x, PLACES) + 0.0, round(y, PLACES) + 0.0] for x, y in points]


def _points(points: Sequence[Sequence[float]]) -> Points:
    return tuple((float(x), float(y)) for x, y in points)
