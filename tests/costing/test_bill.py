from dataclasses import replace
from decimal import Decimal

import pytest

from costing.bill import (
    bill_of_materials,
    net_area_mm2,
    work_drivers,
)
from costing.bill_line import materials_from_bill
from costing.errors import BillError, CostError
from costing.job_file import job_from_document
from costing.price import price_job
from costing.terms import (
    BillTerms,
    ClayTerms,
    FlatTerms,
    HideTake,
    LaceTerms,
    LacingPlan,
    LeatherTerms,
    SmallPartTerms,
    ThreadTerms,
    WasteShare,
    cost_per_dm2,
    leather_of_hides,
    measured_waste,
)
from patterns.pieces.piece import Edge, EdgeName, Hole
from tests.samples_jobs import plain_job
from tests.samples_pieces import one_shoe, piece_set, plain_piece, rectangle, tiny_boot

SOLE_LEATHER = LeatherTerms("sole leather", Decimal("2.00"), 3.0)
CLAY = ClayTerms("oven clay", Decimal("0.03"), 1.8, 4.0, Decimal("0.02"))
TERMS = BillTerms(
    upper=LeatherTerms("kid", Decimal("1.15"), 0.8),
    upper_waste=WasteShare(Decimal("0.30"), measured=False),
    lining=LeatherTerms("lining kid", Decimal("0.90"), 0.4),
    lining_waste=WasteShare(Decimal("0.25"), measured=False),
    sole=SOLE_LEATHER,
    sole_waste=WasteShare(Decimal("0.20"), measured=False),
    card=LeatherTerms("card", Decimal("0.05")),
    card_waste=WasteShare(Decimal("0.10"), measured=False),
    thread=ThreadTerms("waxed thread", Decimal("0.04"), "lockstitch", 3.0, 120.0, Decimal("0.15")),
    lace=LaceTerms("round lace", Decimal("0.50"), 100.0, Decimal("0.1")),
    lacing=LacingPlan(lace_gap_mm=12.0, eyelet_to_edge_mm=4.0),
    eyelets=SmallPartTerms("eyelets", Decimal("0.05"), Decimal("0.05")),
    glue=FlatTerms("glue", Decimal("1"), "portion", Decimal("0.40")),
    box=FlatTerms("box", Decimal("1"), "piece", Decimal("1.20")),
)


def by_key(terms=TERMS, boot=None):
    return {line.key: line for line in bill_of_materials([boot or tiny_boot()], terms)}


def moved(before, after) -> set[str]:
    """Return the keys of the lines that differ between two bills."""
    return {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}


def test_bill_holds_a_line_for_each_material_in_order():
    keys = [line.key for line in bill_of_materials([tiny_boot()], TERMS)]
    assert keys == [
        "upper", "lining", "sole", "card", "thread", "lace", "eyelets", "glue", "box"
    ]  # fmt: skip


def test_areas_are_those_within_the_cut_lines_of_a_pair():
    # 4 sides 50 x 40, 2 toe boxes 30 x 20; 4 linings 50 x 30;
    # 2 outsoles 75 x 30; 2 insoles 70 x 28 mm.
    lines = by_key()
    assert lines["upper"].quantity == Decimal("0.9200")
    assert lines["lining"].quantity == Decimal("0.6")
    assert lines["sole"].quantity == Decimal("0.45")
    assert lines["card"].quantity == Decimal("0.392")
    assert net_area_mm2([tiny_boot()], "upper") == pytest.approx(9200.0)


def test_cut_line_counts_not_the_net_line():
    boot = piece_set(
        (plain_piece("toe box", "upper", rectangle(30, 20), cut_mm=rectangle(40, 30)),)
    )
    assert by_key(boot=boot)["upper"].quantity == Decimal("0.24")


def test_other_hide_waste_moves_the_upper_alone():
    other = replace(TERMS, upper_waste=WasteShare(Decimal("0.40"), measured=False))
    assert moved(by_key(), by_key(other)) == {"upper"}


def test_measured_layout_ends_the_estimate():
    measured = replace(TERMS, upper_waste=measured_waste(9200.0, 12_800.0))
    before, after = by_key()["upper"], by_key(measured)["upper"]
    assert (before.estimated, after.estimated) == (True, False)
    assert before.how.endswith("30 % of what is taken is waste, estimated")
    assert after.how.endswith("28.13 % of what is taken is waste, measured on the layout")


def test_taller_boot_moves_upper_and_thread_alone():
    taller = by_key(boot=tiny_boot(height_mm=60.0))
    assert moved(by_key(), taller) == {"upper", "thread"}
    assert taller["upper"].quantity == Decimal("1.32")


def test_more_eyelets_move_eyelets_and_lace_alone():
    more = by_key(boot=tiny_boot(eyelets=4))
    assert moved(by_key(), more) == {"eyelets", "lace"}
    # 4 sides x 4 eyelets = 16, and 5 % spares make 16.8: 17 whole ones.
    assert more["eyelets"].quantity == Decimal(17)


def test_other_pitch_moves_the_lace_alone():
    assert moved(by_key(), by_key(boot=tiny_boot(pitch_mm=10.0))) == {"lace"}


def test_unlined_boot_has_no_lining_and_a_thinner_seam():
    assert moved(by_key(), by_key(boot=tiny_boot(lined=False))) == {"lining", "thread", "lace"}


def test_lace_is_criss_cross_and_two_ends_costed_exactly_and_bought_in_steps():
    # 3 rows, gap 12 + 2 x 4 = 20 mm, pitch 8 mm: 106.163 mm; 6 eyelets of 0.8 + 0.4 mm leather add
    # 7.2 mm, two ends of 100 mm: 313.363 mm a shoe.
    lace = by_key()["lace"]
    assert lace.quantity == Decimal("0.626")
    assert lace.to_buy == Decimal("0.8")
    assert lace.unit == "m"


def test_rows_are_found_whatever_the_order_of_the_eyelets():
    boot = tiny_boot(eyelets=5)
    shuffled = tuple(
        replace(piece, holes=tuple(piece.holes[place] for place in (2, 0, 4, 1, 3)))
        if piece.holes
        else piece
        for piece in boot.pieces
    )
    assert by_key(boot=boot) == by_key(boot=replace(boot, pieces=shuffled))


@pytest.mark.parametrize("gap_mm", [-8.0, -20.0, float("nan"), float("inf")])
def test_eyelet_rows_that_meet_are_refused(gap_mm):
    terms = replace(TERMS, lacing=LacingPlan(gap_mm, 4.0))
    with pytest.raises(BillError) as caught:
        by_key(terms)
    assert (caught.value.field, caught.value.code) == ("lace_gap_mm", "lace_opening")


def test_overlapping_edges_still_lace_while_the_eyelets_stay_apart():
    assert by_key(replace(TERMS, lacing=LacingPlan(-4.0, 4.0)))["lace"].quantity > 0


def test_shoe_without_lacing_has_no_lace():
    assert "lace" not in by_key(replace(TERMS, lacing=None))


def test_lockstitch_thread_follows_thickness_and_stitch_length():
    # 2 backs of 40 mm; T = 2 x 0.8 + 0.4 = 2.0 mm, stitch 3 mm: 3.3333; ends 2 x 120 mm; 15 % more.
    # (80 x 3.3333 + 240) x 1.15 = 582.67 mm
    assert by_key()["thread"].quantity == Decimal("0.583")


def sewn_sides(kind="seam", partner=("outer side", "back")):
    """Return two sides of 50 x 40 joined up their backs, and nothing else sewn."""
    back = ((50.0, 0.0), (50.0, 40.0))
    inner = Edge("back", "seam", 5.0, back, EdgeName(*partner))
    outer = Edge("back", kind, 5.0, back, EdgeName("inner side", "back"))
    side = rectangle(50.0, 40.0)
    return piece_set(
        (
            plain_piece("inner side", "upper", side, edges=(inner,)),
            plain_piece("outer side", "upper", side, edges=(outer,)),
        )
    )


def test_closed_seam_is_sewn_once_for_its_two_edges():
    # The backs of 2 shoes, 40 mm each.
    assert work_drivers([sewn_sides()]).stitched_mm == Decimal("80.0")
    assert by_key(TERMS, sewn_sides())["thread"].quantity > 0


def test_lapped_edges_are_sewn_along_their_drawn_line_alone():
    assert work_drivers([sewn_sides(kind="lap")]).stitched_mm == 0


def test_edge_that_meets_its_own_copy_is_sewn_once_for_two_copies():
    own = sewn_sides(kind="lap", partner=("inner side", "back"))
    assert work_drivers([own]).stitched_mm == Decimal("40.0")


def test_saddle_stitch_takes_a_multiple_of_the_seam():
    by_hand = replace(TERMS.thread, method="saddle", saddle_ratio=3.5)
    # (80 x 3.5 + 240) x 1.15 = 598 mm
    assert by_key(replace(TERMS, thread=by_hand))["thread"].quantity == Decimal("0.598")


def test_clay_soles_go_by_volume_density_and_shrinkage():
    lines = by_key(replace(TERMS, sole=CLAY))
    assert "sole" not in lines
    # 2 x 75 x 30 x 4 mm = 18 cm3; / 0.98^3 x 1.8 g = 34.42 g
    assert lines["clay"].quantity == Decimal("34.42")
    assert moved(by_key(), lines) == {"sole", "clay"}


def test_heel_of_clay_has_its_own_height():
    boot = tiny_boot()
    heel = plain_piece("heel", "sole", rectangle(20.0, 25.0))
    with_heel = replace(boot, pieces=(*boot.pieces, heel))
    clay = replace(CLAY, shrinkage_share=Decimal(0), thickness_mm_by_piece={"heel": 10.0})
    # 18 cm3 + 2 x 20 x 25 x 10 mm = 28 cm3; x 1.8 = 50.4 g
    line = by_key(replace(TERMS, sole=clay), with_heel)["clay"]
    assert line.quantity == Decimal("50.40")


def test_a_solid_part_s_own_thickness_goes_before_what_the_terms_say():
    boot = tiny_boot()
    platform = replace(plain_piece("platform", "sole", rectangle(20.0, 25.0)), thickness_mm=6.0)
    with_platform = replace(boot, pieces=(*boot.pieces, platform))
    clay = replace(CLAY, shrinkage_share=Decimal(0), thickness_mm_by_piece={"platform": 99.0})
    # 18 cm3 + 2 x 20 x 25 x 6 mm = 24 cm3; x 1.8 = 43.2 g
    line = by_key(replace(TERMS, sole=clay), with_platform)["clay"]
    assert line.quantity == Decimal("43.20")


def test_hooks_are_counted_apart_from_eyelets():
    boot = tiny_boot()
    hooked = tuple(
        replace(piece, holes=(*piece.holes, Hole("hook", 4.0, 29.0, 3.0))) if piece.holes else piece
        for piece in boot.pieces
    )
    hooks = SmallPartTerms("hooks", Decimal("0.20"), Decimal(0))
    lines = by_key(replace(TERMS, hooks=hooks), replace(boot, pieces=hooked))
    assert lines["hooks"].quantity == Decimal(4)
    assert lines["eyelets"] == by_key()["eyelets"]
    assert lines["lace"].quantity > by_key()["lace"].quantity


def test_left_and_right_shoe_make_the_same_bill_as_their_pair():
    boot = tiny_boot()
    sets = [one_shoe(boot, "left"), one_shoe(boot, "right")]
    apart = {line.key: line for line in bill_of_materials(sets, TERMS)}
    together = by_key()
    for key in together.keys() - {"lace"}:
        assert apart[key] == together[key]
    assert apart["lace_left"].quantity + apart["lace_right"].quantity == together["lace"].quantity
    assert work_drivers(sets) == work_drivers([boot])


@pytest.mark.parametrize("sides", [[], ["left"], ["left", "left"], ["pair", "pair"]])
def test_sets_that_are_not_one_pair_are_refused(sides):
    sets = [replace(tiny_boot(), foot_side=side) for side in sides]
    with pytest.raises(BillError, match="one pair"):
        bill_of_materials(sets, TERMS)


NEEDED = ["lining", "lining_waste", "sole", "sole_waste", "card", "thread", "lace", "eyelets"]


@pytest.mark.parametrize("field", NEEDED)
def test_material_that_pieces_need_but_nobody_chose_is_named(field):
    with pytest.raises(BillError) as caught:
        by_key(replace(TERMS, **{field: None}))
    assert (caught.value.field, caught.value.code) == (field, "material_not_chosen")


def test_leather_sewn_through_needs_its_thickness():
    with pytest.raises(BillError) as caught:
        by_key(replace(TERMS, upper=LeatherTerms("kid", Decimal("1.15"))))
    assert caught.value.field == "thickness_mm"


def test_lacing_is_read_from_the_parameters_of_a_style():
    plan = LacingPlan.from_parameters({"lace_gap_mm": 12.0, "eyelet_edge_mm": 4, "sock": "thin"})
    assert plan == LacingPlan(12.0, 4.0)
    assert plan.opening_mm == 20.0
    assert LacingPlan.from_parameters({"lace_gap_mm": 12.0}) is None
    assert LacingPlan.from_parameters({}) is None


def test_hides_of_different_cost_are_charged_as_each_was_taken():
    # 0.92 dm2 of pieces; 0.8 dm2 taken at 1.00 and 0.6 dm2 at 2.00 cost 2.00 in all.
    takes = [
        HideTake("H-0001", 5000.0, 8000.0, Decimal("1.00")),
        HideTake("H-0002", 4200.0, 6000.0, Decimal("2.00")),
    ]
    upper, waste = leather_of_hides("kid", 0.8, takes)
    lines = bill_of_materials([tiny_boot()], replace(TERMS, upper=upper, upper_waste=waste))
    job = job_from_document(plain_job(quantity=1))
    priced = price_job(replace(job, materials=materials_from_bill(lines)))
    assert priced.lines[0].amount == Decimal("2.00")


BAD_TERMS = [
    lambda: leather_of_hides("kid", 0.8, []),
    lambda: HideTake("H-0001", 9000.0, 8000.0, Decimal(1)),
    lambda: HideTake("H-0001", 1.0, 8000.0, Decimal(-1)),
    lambda: cost_per_dm2(Decimal(10), 0.0),
    lambda: cost_per_dm2(Decimal("NaN"), 1.0),
    lambda: LeatherTerms("", Decimal(1), 0.8),
    lambda: LeatherTerms("kid", Decimal(-1), 0.8),
    lambda: LeatherTerms("kid", Decimal("NaN"), 0.8),
    lambda: LeatherTerms("kid", 1.15, 0.8),
    lambda: LeatherTerms("kid", Decimal(1), 0.0),
    lambda: LeatherTerms("kid", Decimal(1), float("nan")),
    lambda: WasteShare(Decimal(1), measured=False),
    lambda: WasteShare(Decimal("-0.1"), measured=False),
    lambda: measured_waste(0.0, 100.0),
    lambda: measured_waste(101.0, 100.0),
    lambda: measured_waste(float("nan"), 100.0),
    lambda: measured_waste(1.0, float("inf")),
    lambda: replace(CLAY, shrinkage_share=Decimal(1)),
    lambda: replace(CLAY, density_g_per_cm3=0.0),
    lambda: replace(CLAY, thickness_mm_by_piece={"heel": -1.0}),
    lambda: replace(TERMS.thread, method="overlock"),
    lambda: replace(TERMS.thread, saddle_ratio=5.0),
    lambda: replace(TERMS.thread, stitch_length_mm=0.0),
    lambda: replace(TERMS.lace, tying_end_mm=-1.0),
    lambda: replace(TERMS.lace, sold_by_m=Decimal(0)),
    lambda: SmallPartTerms("eyelets", Decimal(1), Decimal(-1)),
    lambda: FlatTerms("glue", Decimal("Infinity"), "g", Decimal(1)),
]


@pytest.mark.parametrize("make", BAD_TERMS)
def test_terms_out_of_range_are_refused_by_name(make):
    with pytest.raises(CostError) as caught:
        make()
    assert caught.value.field


def test_bill_becomes_the_materials_of_a_job_and_is_priced_line_by_line():
    lines = bill_of_materials([tiny_boot()], TERMS)
    job = replace(job_from_document(plain_job()), materials=materials_from_bill(lines))
    priced = price_job(job).lines
    # 0.92 dm2 x 2 / 0.7 x 1.15 = 3.02286
    assert (priced[0].name, priced[0].amount) == ("kid", Decimal("3.02"))
    assert priced[0].how == "0.92 dm2 x 2 pairs / (1 - 30 %) = 2.6286 dm2 at 1.15 = 3.02"
    # The box takes no waste: 1 x 2 x 1.20.
    assert priced[8].amount == Decimal("2.40")


def test_work_is_counted_over_the_pair():
    drivers = work_drivers([tiny_boot()])
    assert drivers.pieces == 14
    assert drivers.eyelets == 12
    assert drivers.stitched_mm == Decimal("80.0")
    assert drivers.lasted_mm == Decimal("200.0")
    assert drivers.shoes == 2
