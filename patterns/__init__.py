"""From a foot to pieces laid out on a hide: the geometry core, in millimetres.

The way through it: `Foot` (or `foot_from_document`) -> `draft_pieces` with a `Style` -> `PieceSet`.
Layouts have their own face in `patterns.layout`, drawings in `patterns.drawing`, files in
`patterns.exchange`.
"""

from patterns.errors import FootError, OutlineError, PatternError, StyleError
from patterns.foot import MEASURES, Foot, LevelGirth, Measure, foot_problems
from patterns.measures import CompleteMeasures, complete_measures
from patterns.pieces.piece import Piece, PieceSet
from patterns.projection import draft_pieces, shape_of_foot
from patterns.style import Style, load_style, style_names

__all__ = [
    "MEASURES",
    "CompleteMeasures",
    "Foot",
    "FootError",
    "LevelGirth",
    "Measure",
    "OutlineError",
    "PatternError",
    "Piece",
    "PieceSet",
    "Style",
    "StyleError",
    "complete_measures",
    "draft_pieces",
    "foot_problems",
    "load_style",
    "shape_of_foot",
    "style_names",
]
