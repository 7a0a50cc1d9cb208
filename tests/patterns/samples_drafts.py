"""Drafts the tests share, each drawn once in a run."""

from functools import cache

from patterns.drafting import draft_pieces
from patterns.pieces.piece import PieceSet
from patterns.style import load_style
from tests.patterns.samples_feet import mesh_foot, sample_foot, traced_foot
from tests.shared import shared

FEET = {"measures": sample_foot, "mesh": mesh_foot, "tracing": traced_foot}
ANKLE_BOOT = "lace-up-ankle-boot"


@cache
def cut(foot: str = "measures", style: str = ANKLE_BOOT, **values: float | bool) -> PieceSet:
    """Return the pieces of a style for a sample foot, cut from its surface."""
    pattern = load_style(style)
    return shared(
        "cut",
        (foot, style, sorted(values.items())),
        lambda: draft_pieces(FEET[foot](), pattern, pattern.values(values)),
    )
