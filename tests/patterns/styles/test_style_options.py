from functools import cache
from itertools import pairwise

import pytest

from patterns.drafting import draft_pieces, reach_mm
from patterns.drafting.layers import parts_of_layer
from patterns.drafting.plan import LAYERS, plan_draft
from patterns.foot import Foot
from patterns.last import build_last
from patterns.style import load_style, style_names
from tests.patterns.samples_drafts import cut
from tests.patterns.samples_feet import sample_foot, sample_measures

# Flags that cut nothing out of the last.
BESIDE = {"hand_stitched", "chain_stitched", "leather_sole", "filler", "sock_lining", "wedge",
          "wedge_inside", "pull_loop", "hooks"}  # fmt: skip


@cache
def last_for(style: str):
    pattern = load_style(style)
    return build_last(sample_foot(), top_mm=reach_mm(sample_foot(), pattern, {}))


def cutting_flags(style: str) -> list[str]:
    return [p.key for p in load_style(style).parameters if p.kind == "flag" and p.key not in BESIDE]


def two_by_two(style: str) -> list[dict[str, bool]]:
    """Return settings among which every two flags come in all four ways."""
    flags = cutting_flags(style)
    rows = 1
    while rows <= len(flags):
        rows *= 2
    return [
        {flag: bool((row & number).bit_count() % 2) for number, flag in enumerate(flags, start=1)}
        for row in range(rows)
    ]


# The styles with the most ways to be put together; the others are drafted with single flags below.
MANY_WAYS = ("slip-on", "tall-lace-up-boot")
CASES = [(style, values) for style in MANY_WAYS for values in two_by_two(style)]
CASES += [
    (style, dict.fromkeys(cutting_flags(style), value))
    for style in style_names()
    if style not in MANY_WAYS
    for value in (False, True)
]


@pytest.mark.parametrize(
    ("style", "values"), CASES, ids=[f"{s} {sum(v.values())}:{k}" for k, (s, v) in enumerate(CASES)]
)
def test_every_two_flags_go_together(style, values):
    pattern = load_style(style)
    plan = plan_draft(sample_foot(), pattern, pattern.values(values), last=last_for(style))
    for layer in LAYERS:
        edges = {
            (part.region.name, named.name): named.partner
            for part, runs in parts_of_layer(plan, layer)
            for named in runs
        }
        for own, partner in edges.items():
            if partner is not None:
                back = edges[partner.piece, partner.edge]
                assert (back.piece, back.edge) == own


def test_a_back_without_a_heel_seam_is_one_piece():
    drafted = cut("measures", "slip-on", heel_seam=False)
    assert {edge.partner.piece for edge in drafted.piece("back").edges if edge.partner} == {
        "vamp", "outer gusset", "inner gusset"}  # fmt: skip
    assert drafted.piece("back").checks.stretch_p99_pct < 14.0


def test_elastic_lets_more_foot_in():
    plain = cut("measures", "slip-on", gusset=False).entry
    elastic = cut("measures", "slip-on").entry
    assert elastic[0].opens_mm > plain[0].opens_mm + 2.0


def test_a_boot_without_laces_has_a_front_seam_and_opens_by_its_zip():
    shut = cut("measures", "tall-lace-up-boot", laced=False)
    zipped = cut("measures", "tall-lace-up-boot", laced=False, zip_inside=True)
    assert "foot-not-in" in {m.code for m in shut.messages}
    assert "foot-not-in" not in {m.code for m in zipped.messages}
    assert "tongue" not in {piece.name for piece in zipped.pieces}
    front = {
        s.a.edge for s in zipped.seams if {s.a.piece, s.b.piece} == {"outer side", "inner side"}
    }
    assert front == {"front seam"}


def test_a_zip_at_the_back_takes_the_place_of_the_heel_seam_above_its_end():
    drafted = cut("measures", "tall-lace-up-boot", zip_back=True, hooks=True)
    names = {edge.name for edge in drafted.piece("outer side").edges}
    assert {"back zip edge", "heel seam"} <= names
    assert "back stay" not in {piece.name for piece in drafted.pieces}
    zip_mm = next(m.parameters["length_mm"] for m in drafted.messages if m.code == "zip-length")
    guard = drafted.piece("back zip guard")
    assert max(x for x, _ in guard.net_mm) == pytest.approx(zip_mm, abs=0.02)


def test_hooks_stand_above_the_ankle_and_eyelets_below():
    side = cut("measures", "tall-lace-up-boot", zip_back=True, hooks=True).piece("outer side")
    kinds = [hole.kind for hole in side.holes]
    assert set(kinds) == {"hook", "eyelet"}
    assert sum(a != b for a, b in pairwise(kinds)) == 1


@cache
def raised(style: str, **values: float | bool):
    foot = Foot("raised", sample_measures() | {"heel_raise": 12.0})
    pattern = load_style(style)
    return draft_pieces(foot, pattern, pattern.values(values))


@pytest.mark.parametrize("style", ["lace-shoe", "open-sandal"])
def test_a_raised_foot_stands_on_a_block_a_stack_or_a_wedge(style):
    block = {piece.name for piece in raised(style).pieces}
    stack = {piece.name for piece in raised(style, leather_sole=True).pieces}
    wedge = {piece.name for piece in raised(style, wedge=True).pieces}
    assert "heel" in block
    assert {"wedge", "wedge cover"} <= wedge
    assert any(name.startswith("heel lift") for name in stack - block)
