import pytest

from patterns.style import style_names
from tests.patterns.samples_drafts import cut

BOTTOM = {"insole", "sock lining", "outsole"}
BACK = {"outer side", "inner side", "outer side lining", "inner side lining", "heel stiffener"}
LACED = {"tongue", "facing tape outer", "facing tape inner"}
PIECES = {
    "lace-up-ankle-boot": BOTTOM | BACK | LACED | {"toe box", "toe form", "back stay", "filler"},
    "tall-lace-up-boot": BOTTOM | BACK | LACED | {"toe box", "toe form", "back stay", "filler"},
    "lace-shoe": BOTTOM | BACK | LACED | {"vamp", "vamp lining", "toe form", "back stay", "filler"},
    "strap-shoe": BOTTOM
    | BACK
    | {
        "vamp",
        "vamp lining",
        "toe form",
        "back stay",
        "filler",
        "strap",
        "strap buckle tab",
        "strap lining",
    },
    "slip-on": BOTTOM
    | BACK
    | {"vamp", "vamp lining", "toe form", "back stay", "filler", "outer gusset", "inner gusset"},
    "open-sandal": BOTTOM
    | {"toe strap", "instep strap", "heel strap"}
    | {"toe strap lining", "instep strap lining", "heel strap lining"},
}

every_style = pytest.mark.parametrize("style", style_names())


def test_there_are_six_styles():
    assert set(style_names()) == set(PIECES)


@every_style
def test_a_style_has_every_piece_a_pair_needs(style):
    drafted = cut("measures", style)
    names = [piece.name for piece in drafted.pieces]
    assert len(names) == len(set(names))
    assert set(names) == PIECES[style]
    assert {"upper", "card", "sole"} <= {piece.material for piece in drafted.pieces}


@every_style
def test_a_pair_takes_two_of_each_piece_one_of_them_turned_over(style):
    for piece in cut("measures", style).pieces:
        assert piece.quantity == 2
        assert piece.mirrored_quantity == (0 if piece.mirror_free else 1)


@every_style
def test_partners_name_each_other_and_fit(style):
    drafted = cut("measures", style)
    edges = {(piece.name, edge.name): edge for piece in drafted.pieces for edge in piece.edges}
    for (piece, edge), own in edges.items():
        if own.partner is not None:
            back = edges[own.partner.piece, own.partner.edge].partner
            assert (back.piece, back.edge) == (piece, edge)
    assert all(seam.mismatch_mm < 0.2 for seam in drafted.seams)


@every_style
def test_leather_takes_the_last_without_folds(style):
    drafted = cut("measures", style)
    assert not [m for m in drafted.messages if m.level == "stop"]
    for piece in drafted.pieces:
        if piece.checks is not None:
            assert piece.checks.flips == 0
            # Limits agreed for this project, common practice, no source.
            assert piece.checks.stretch_p95_pct < 10.0
            assert piece.checks.stretch_p99_pct < 14.0


@every_style
def test_the_foot_goes_in_by_default(style):
    assert all(level.opens_mm > level.needs_mm - 1.0 for level in cut("measures", style).entry)


@pytest.mark.parametrize("style", ["lace-up-ankle-boot", "tall-lace-up-boot", "lace-shoe"])
def test_both_sides_carry_the_same_eyelets(style):
    drafted = cut("measures", style)
    outer, inner = (drafted.piece(f"{side} side").holes for side in ("outer", "inner"))
    assert len(outer) == len(inner) > 1
    assert {hole.kind for hole in (*outer, *inner)} == {"eyelet"}


def test_linings_keep_behind_the_upper_at_the_topline():
    drafted = cut("measures", "lace-shoe")
    for side in ("outer side", "inner side"):
        upper = drafted.piece(side).mesh.points_mm[:, 2].max()
        assert drafted.piece(f"{side} lining").mesh.points_mm[:, 2].max() < upper


def test_a_toe_form_keeps_to_the_toe_of_a_vamp():
    short = cut("measures", "slip-on", toe_form_from_pct=88.0).piece("toe form")
    long = cut("measures", "slip-on").piece("toe form")
    width = [max(x for x, _ in p.net_mm) - min(x for x, _ in p.net_mm) for p in (short, long)]
    assert width[0] < width[1] < 0.35 * 75.0
