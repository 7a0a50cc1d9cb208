"""Cuttings as their page shows them, and what stands on a hide's label."""

import json
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.safestring import SafeString

from patterns.exchange.layout_file import layout_from_document, request_from_document
from patterns.hide_area import ring_box
from patterns.layout.ground import laid_shape
from workshop.bridge import hide_from_record, ring_from_points
from workshop.documents.hide_label import HideLabel
from workshop.doors import MONEY
from workshop.hide_sheet import label_drawing, left_drawing, leftovers_drawing
from workshop.models import Commission, Cutting, Hide, LeftPiece
from workshop.services.cuttings import left_value, rest_of


def cuttings_of(commission: Commission, hide: Hide | None) -> list[Cutting]:
    """Return how a job has cut a hide, newest first; none while nothing is cut."""
    if hide is None or hide.state != Hide.State.CUT:
        return []
    return list(hide.cuttings.filter(commission=commission).defer("instance", "layout"))


@dataclass(frozen=True, slots=True)
class LeftShown:
    """A piece left: its drawing, its size, and its value where money is seen."""

    position: int
    drawing: SafeString
    width_mm: float
    height_mm: float
    area_mm2: Decimal
    fate: str
    fate_words: str
    hide: Hide | None
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class CuttingShown:
    """A cutting: the hide drawn with what was cut and what is left, and how its area adds up.

    ``backdrop`` is what the drawing ground shows under the outlines, as JSON.
    """

    drawing: SafeString
    pieces: list[LeftShown]
    pieces_mm2: Decimal
    left_mm2: Decimal
    waste_mm2: Decimal
    whole_mm2: Decimal
    used_cost: Decimal | None
    hide_cost: Decimal | None
    backdrop: str

    @property
    def has_kept(self) -> bool:
        """Return whether something was kept."""
        return any(piece.hide is not None for piece in self.pieces)


def cutting_shown(cutting: Cutting, pieces: list[LeftPiece], role: str) -> CuttingShown:
    """Return a cutting with its pieces; values are as if all that may be kept were."""
    values = {piece.position: left_value(piece) for piece in pieces}
    counted = {
        piece.position: values[piece.position]
        for piece in pieces
        if piece.fate != LeftPiece.Fate.BINNED
    }
    sees_money = role in MONEY
    rest = rest_of(cutting, counted) if sees_money else None
    left_mm2 = sum((values_area for values_area in _areas(pieces)), Decimal(0))
    whole = cutting.hide.area_mm2
    return CuttingShown(
        drawing=leftovers_drawing(
            hide_from_record(cutting.hide),
            request_from_document(cutting.instance),
            layout_from_document(cutting.layout),
            [values[piece.position] for piece in pieces],
        ),
        pieces=[_left_shown(piece, values[piece.position], rest) for piece in pieces],
        pieces_mm2=cutting.pieces_area_mm2,
        left_mm2=left_mm2,
        waste_mm2=whole - cutting.pieces_area_mm2 - left_mm2,
        whole_mm2=whole,
        used_cost=rest.used_cost if rest is not None else None,
        hide_cost=cutting.hide.cost if sees_money else None,
        backdrop=_backdrop(cutting),
    )


def _areas(pieces: list[LeftPiece]) -> list[Decimal]:
    return [piece.area_mm2 for piece in pieces if piece.fate != LeftPiece.Fate.BINNED]


def _left_shown(piece: LeftPiece, value: Any, rest: Any) -> LeftShown:
    _left, _bottom, width_mm, height_mm = ring_box(ring_from_points(piece.outline))
    return LeftShown(
        position=piece.position,
        drawing=left_drawing(value),
        width_mm=width_mm,
        height_mm=height_mm,
        area_mm2=piece.area_mm2,
        fate=piece.fate,
        fate_words=piece.get_fate_display(),
        hide=piece.hide,
        cost=rest.costs.get(piece.position) if rest is not None else None,
    )


def _backdrop(cutting: Cutting) -> str:
    request = request_from_document(cutting.instance)
    layout = layout_from_document(cutting.layout)
    named = {piece.id: piece for piece in request.pieces}
    hide = hide_from_record(cutting.hide)
    parts = [{"kind": "hide", "ring": hide.outline_mm}]
    parts += [
        {"kind": "piece", "ring": list(laid_shape(named[row.id], row).exterior.coords)[:-1]}
        for row in layout.placements
        if row.container == hide.id
    ]
    return json.dumps(
        [{**part, "ring": [[round(x, 2), round(y, 2)] for x, y in part["ring"]]} for part in parts]
    )


def label_values(hide: Hide, address: str) -> HideLabel:
    """Return what stands on a hide's label; nothing of money."""
    _left, _bottom, width_mm, height_mm = ring_box(ring_from_points(hide.outline))
    return HideLabel(
        code=hide.code,
        leather=hide.lot.name,
        colour=hide.lot.colour,
        lot=hide.lot.code,
        remnant_of=hide.remnant_of.code if hide.remnant_of is not None else "",
        thickness_mm=hide.thickness_mm,
        area_mm2=hide.area_mm2,
        width_mm=width_mm,
        height_mm=height_mm,
        address=address,
        drawing=label_drawing(hide),
    )
