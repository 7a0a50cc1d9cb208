"""From a foot to pieces laid out on a hide: the geometry core, in millimetres.

The way through it: `Foot` (or `foot_from_document`) -> `build_last` -> `draft_pieces` with a
`Style` -> `PieceSet`.
Layouts have their own face in `patterns.layout`, drawings in `patterns.drawing`, files in
`patterns.exchange`.

Names are loaded when first asked for: who needs only an error or a unit waits for no drafting.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
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

_HOMES = {
    "patterns.drafting": ("draft_pieces",),
    "patterns.errors": ("FootError", "OutlineError", "PatternError", "StyleError"),
    "patterns.foot": ("MEASURES", "Foot", "LevelGirth", "Measure", "foot_problems"),
    "patterns.last": ("Last", "build_last"),
    "patterns.measures": ("CompleteMeasures", "complete_measures"),
    "patterns.pieces.piece": ("Piece", "PieceSet"),
    "patterns.style": ("Style", "load_style", "style_names"),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> object:
    """Return a name of the face, loading the module it lives in."""
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME_OF[name]), name)
