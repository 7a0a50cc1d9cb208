"""Laying pieces out on hides: the search, and the exact check of what it found."""

from patterns.layout.check import check_layout, layout_faults
from patterns.layout.from_pieces import request_from_pieces
from patterns.layout.pairs import only_asked, pairs_that_fit
from patterns.layout.search import lay_out, warm_up
from patterns.layout.values import (
    Layout,
    LayoutPiece,
    LayoutProgress,
    LayoutRequest,
    Placement,
)
from patterns.layout.waste import WasteReport, layout_waste

# Raised whenever the same request would be laid out otherwise: kept results go by it.
LAYOUT_ENGINE = "relaxed 9"

__all__ = [
    "LAYOUT_ENGINE",
    "Layout",
    "LayoutPiece",
    "LayoutProgress",
    "LayoutRequest",
    "Placement",
    "WasteReport",
    "check_layout",
    "lay_out",
    "layout_faults",
    "layout_waste",
    "only_asked",
    "pairs_that_fit",
    "request_from_pieces",
    "warm_up",
]
