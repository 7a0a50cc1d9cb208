"""From a foot to pieces laid out on a hide: the geometry core, in millimetres.

The way through it: `Foot` (or `foot_from_document`) -> `build_last` -> `draft_pieces` with a
`Style` -> `PieceSet`.
Layouts have their own face in `patterns.layout`, drawings in `patterns.drawing`, files in
`patterns.exchange`.
"""

from patterns.drafting import draft_pieces
from patterns.errors import FootError, OutlineError, PatternError, StyleError
from patterns.foot import MEASURES, Foot, LevelGirth, Measure, foot_problems
from patterns.last import Last, build_last
from patterns.measures import CompleteMeasures, complete_measures
from patterns.pieces.piece import Piece, PieceSet
from patterns.style import Style, load_style, style_names

__all__ = [
    "MEASURES",
    "CompleteMeasures",
    "Foot",
    "FootError",
    "Last",
    "LevelGirth",
    "Measure",
    "OutlineError",
    "PatternError",
    "Piece",
    "PieceSet",
    "Style",
    "StyleError",
    "build_last",
    "complete_measures",
    "draft_pieces",
    "foot_problems",
    "load_style",
    "style_names",
]
