"""The making guide: complete, numbered, true at its end, in two kinds of units, without names."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO

import pypdf
import pytest

from costing.bill_line import BillLine
from costing.how import How
from costing.labour import WorkDrivers, WorkStepRule
from tests.patterns.samples_drafts import cut
from tests.pdf_reading import drawn_paths, page_sizes_mm, page_texts
from workshop.documents.guide_stages import StageMinutes, minutes_by_stage
from workshop.documents.guide_steps import guide_steps
from workshop.documents.guide_units import length_words, quantity_words, thickness_words
from workshop.documents.guide_values import GuidePlan
from workshop.documents.heading import SheetHeading
from workshop.documents.making_guide import MakingGuide, heading_for_sale, making_guide_pdf

pytestmark = pytest.mark.paper
DAY = date(2026, 3, 14)
HEADING = SheetHeading(
    workshop="Workshop of the test bench",
    doll="Juniper D-0001",
    style="Tall boot",
    foot_version="left 2",
    order_code="C-0007",
    corrections=("Topline 2 mm lower",),
    drawn_foot="left",
)
HOW = How("bill_flat", {"quantity": "1", "unit": "m"})
BILL = (
    BillLine("upper", "upper leather", Decimal("7.3110"), "dm2", Decimal(0), Decimal(0), HOW),
    BillLine("thread", "waxed thread", Decimal("9.144"), "m", Decimal(0), Decimal(0), HOW),
    BillLine("clay", "oven clay", Decimal("28.3495231250"), "g", Decimal(0), Decimal(0), HOW),
    BillLine("eyelets", "eyelets 2.5", Decimal(34), "piece", Decimal(0), Decimal(0), HOW),
)
MINUTES = {
    "cut": StageMinutes(Decimal("42.5")),
    "join": StageMinutes(Decimal(75)),
    "dry": StageMinutes(Decimal(0), Decimal(60)),
    "bake": StageMinutes(Decimal(0), Decimal(90)),
}


def plan(style="tall-lace-up-boot", **changes):
    made = GuidePlan(cut(style=style), "mm", "machine", bill=BILL, minutes=MINUTES)
    return replace(made, **changes)


@pytest.fixture(scope="module")
def guide():
    return making_guide_pdf(MakingGuide(plan(), HEADING, 75.0), made_on=DAY)


def words_of(data):
    return [" ".join(text.split()) for text in page_texts(data)]


def test_contents_name_the_page_each_step_stands_on(guide):
    pages = pypdf.PdfReader(BytesIO(guide)).pages
    lines = [
        " ".join(line.split())
        for line in pages[1].extract_text(extraction_mode="layout").splitlines()
    ]
    steps = guide_steps(plan())
    assert len(steps) >= 10
    texts = words_of(guide)
    for number, step in enumerate(steps, start=1):
        (line,) = [row for row in lines if row.startswith(f"{number}. {step.title} ")]
        page = int(line.rsplit(" ", 1)[1])
        assert step.title in texts[page - 1]
        # Its first words stand there too, so that it is the step and no mention of it.
        assert step.paragraphs[0][:40] in texts[page - 1]


def test_the_pattern_follows_at_true_scale(guide):
    pages = words_of(guide)
    first = next(k for k, text in enumerate(pages) if "Cutting sheet, true scale" in text)
    assert first > 5
    assert all("this bar must measure 100 mm" in text for text in pages[first:])
    rings = {
        round(max(x for x, _ in path.points_mm) - min(x for x, _ in path.points_mm), 1)
        for page in drawn_paths(guide)[first:]
        for path in page
        if path.closed and 0.49 < path.width_mm < 0.51
    }
    across = [x for x, _ in cut(style="tall-lace-up-boot").piece("toe box").cut_mm]
    up = [y for _, y in cut(style="tall-lace-up-boot").piece("toe box").cut_mm]
    sizes = {round(max(v) - min(v), 1) for v in (across, up)}
    assert sizes & rings


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_pages_and_wishes_of_the_whole_file(paper, size):
    data = making_guide_pdf(MakingGuide(plan("slip-on"), HEADING, 75.0), made_on=DAY, paper=paper)
    upright = {tuple(sorted(found)) for found in page_sizes_mm(data)}
    assert len(upright) == 1
    assert upright.pop() == pytest.approx(size, abs=0.05)
    reader = pypdf.PdfReader(BytesIO(data))
    root = reader.trailer["/Root"]
    # ISO 32000-1, table 150: the print dialogue is asked not to scale.
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert root["/Lang"] == "en"
    assert "Making guide" in reader.metadata.title


def test_every_caution_the_work_needs_stands_at_its_step():
    by_title = {step.title: " ".join(step.cautions) for step in guide_steps(plan())}
    assert "away from the hand" in by_title["Print, check and cut"]
    assert "dust" in by_title["Thin and turn the edges"]
    assert "no flame" in by_title["Thin and turn the edges"]
    assert "glasses" in by_title["Holes and eyelets"]
    assert "no flame" in by_title["Draw the upper over the last"]
    assert "maker's label" in by_title["Soles and heels"]
    assert "harmful fumes" in by_title["Bake and cool"]
    assert "no flame" in by_title["Put the sole on"]
    assert "under 3 years" in by_title["Finish, lace and try on"]
    # No temperature and no minutes of baking of our own: the packet's hold.
    assert "°" not in " ".join(
        " ".join((*step.paragraphs, *step.cautions)) for step in guide_steps(plan())
    )


def test_leather_soles_are_cut_not_baked():
    pieces = cut(style="tall-lace-up-boot")
    soled = replace(pieces, parameters={**pieces.parameters, "leather_sole": True})
    titles = [step.title for step in guide_steps(plan(pieces=soled))]
    assert "Bake and cool" not in titles
    (sole,) = [s for s in guide_steps(plan(pieces=soled)) if s.title == "Soles and heels"]
    assert "dust" in " ".join(sole.cautions)
    assert "clay" not in " ".join(sole.paragraphs).lower()


def test_a_style_without_laces_has_no_step_for_holes():
    assert "Holes and eyelets" not in [step.title for step in guide_steps(plan("slip-on"))]


def test_minutes_of_a_stage_are_told_once_and_add_up(guide):
    steps = guide_steps(plan())
    assert sum(step.hands_min for step in steps) == 43 + 75
    assert sum(step.waiting_min for step in steps) == 60 + 90
    text = " ".join(words_of(guide))
    assert "1 h 15 min by hand" in text
    assert "1 h 30 min waiting" in text


def test_a_guide_for_sale_carries_no_name():
    data = making_guide_pdf(
        MakingGuide(plan("slip-on"), heading_for_sale(HEADING), 75.0), made_on=DAY
    )
    text = " ".join(words_of(data)) + str(pypdf.PdfReader(BytesIO(data)).metadata)
    for private in ("Juniper", "C-0007", "D-0001", "left 2", "Topline 2 mm lower"):
        assert private not in text
    assert "Workshop of the test bench" in text


def test_the_same_guide_gives_the_same_words_in_inches():
    text = " ".join(
        words_of(
            making_guide_pdf(MakingGuide(plan("slip-on", units="in"), HEADING, 76.2), made_on=DAY)
        )
    )
    assert "for a foot 3.00 in long" in text
    assert "10.0 yd" in text
    assert " mm" not in text.split("Cutting sheet, true scale")[0].replace("100 mm", "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        # Sources: 1 in = 25.4 mm, 1 yd = 0.9144 m, 1 oz = 28.349523125 g (avoirdupois), exact
        # since 1959; a square foot is 9.290304 dm2.
        (length_words(25.4, "in"), "1.00 in"),
        (length_words(5.24, "mm"), "5 mm"),
        (length_words(5.26, "mm"), "5.5 mm"),
        (thickness_words(0.8, "in"), "0.031 in"),
        (quantity_words(Decimal("9.144"), "m", "in"), "10.0 yd"),
        (quantity_words(Decimal("9.145"), "m", "in"), "10.1 yd"),
        (quantity_words(Decimal("28.349523125"), "g", "in"), "1.0 oz"),
        (quantity_words(Decimal("28.35"), "g", "mm"), "29 g"),
        (quantity_words(Decimal("9.290304"), "dm2", "in"), "1.00 sq ft"),
        (quantity_words(Decimal("7.311"), "dm2", "mm"), "7.4 dm²"),
        (quantity_words(Decimal(34), "piece", "mm"), "34 piece"),
    ],
)
def test_quantities_are_never_too_small(words, said):
    assert words == said


def test_steps_of_a_rate_card_find_their_stage():
    drivers = WorkDrivers(pieces=10, eyelets=20, stitched_mm=Decimal(1000), lasted_mm=Decimal(400))
    rules = [
        WorkStepRule("mails", Decimal(25), "order"),
        WorkStepRule("cutting", Decimal("1.5"), "piece"),
        WorkStepRule("skiving", Decimal(1), "piece"),
        WorkStepRule("sewing", Decimal("0.02"), "mm_stitched", way="machine"),
        WorkStepRule("sewing by hand", Decimal("0.09"), "mm_stitched", way="hand stitch"),
        WorkStepRule("eyelets", Decimal("0.75"), "eyelet"),
        WorkStepRule("lasting", Decimal("0.04"), "mm_lasted"),
        WorkStepRule("drying", Decimal(60), "pair", passive=True),
        WorkStepRule("clay soles", Decimal(10), "shoe"),
        WorkStepRule("baking", Decimal(60), "order", passive=True),
        WorkStepRule("lacing", Decimal(15), "pair"),
    ]
    places = {
        "skiving": ("hands", "upper"),
        "clay soles": ("hands", "sole"),
        "baking": ("oven", "sole"),
    }
    found = minutes_by_stage(
        rules,
        drivers,
        way="machine",
        place_of=lambda name, passive: places.get(name, ("hands", "whole")),
    )
    hands = {stage: minutes.hands_min for stage, minutes in found.items()}
    assert hands["cut"] == Decimal("15.0")
    assert hands["prepare"] == 10
    assert hands["join"] == Decimal("20.00")
    assert hands["eyelets"] == Decimal("15.00")
    assert hands["last"] == Decimal("16.00")
    assert hands["sole"] == 20
    assert hands["finish"] == 15
    assert found["dry"] == StageMinutes(Decimal(0), Decimal(60))
    assert found["bake"] == StageMinutes(Decimal(0), Decimal(60))
    assert sum(hands.values()) == Decimal("111.00")
