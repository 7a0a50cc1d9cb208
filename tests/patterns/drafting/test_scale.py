from dataclasses import replace

import pytest
from shapely import Polygon

from patterns.drafting import draft_pieces
from patterns.style import load_style
from tests.patterns.samples_feet import sample_foot

BOOT = load_style("lace-up-ankle-boot")


def test_a_foot_and_every_length_twice_as_large_give_pieces_twice_as_large():
    foot = sample_foot()
    small = draft_pieces(foot, BOOT, {})
    large_foot = replace(foot, measures_mm={k: 2 * v for k, v in foot.measures_mm.items()})
    lengths = {p.key for p in BOOT.parameters if p.kind == "length"}
    asked = {k: 2 * float(v) if k in lengths else v for k, v in small.parameters.items()}
    # As many eyelets as on the small boot: twice the pitch asks for it.
    large = draft_pieces(large_foot, BOOT, asked)
    assert [p.name for p in large.pieces] == [p.name for p in small.pieces]
    for piece, twice in zip(small.pieces, large.pieces, strict=True):
        share = Polygon(twice.net_mm).area / Polygon(piece.net_mm).area
        assert share == pytest.approx(4.0, rel=5e-3), piece.name
        assert len(twice.holes) == len(piece.holes)
