"""Six pairs in three sizes for a stall, from two remnants and one hide, to the month's end."""

from decimal import Decimal

import pytest

from tests.browser.maker import money
from tests.browser.worker import working
from tests.workshop.test_stock_runs import hides, sizes  # noqa: F401
from workshop.services import stock_runs

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
]

SECONDS = 4  # enough for six pairs on three hides; a maker's own search takes its full time
LINED = 20  # of a pair of ankle boots: 10 linings, 4 parts of the sole, 6 of card
MONTH = (
    "jobs", "pairs made", "off the shelf", "hours", "material", "income", "fees", "shelf cost",
    "profit",
)  # fmt: skip


@pytest.fixture
def stall(owner):
    from workshop.models import PlaceFee, PlaceOfSale, PlaceVersion
    from workshop.services.places import place_save

    fee = PlaceFee(name="Table, shared out", pct=Decimal(0), fixed=Decimal("3.50"))
    version = PlaceVersion(payments=1, reason="invented")
    return place_save(PlaceOfSale(name="Spring stall"), version, [fee], by=owner)


@pytest.mark.usefixtures("sizes", "style_version", "supplies", "rate_card", "stall")
def test_six_pairs_for_a_stall(maker, hides, monkeypatch):  # noqa: F811
    monkeypatch.setattr(stock_runs, "SECONDS_TO_LAY_OUT", SECONDS)
    codes = [hide.code for hide in hides]
    plan_it(maker, codes)
    costs, supplies = look_at_costs(maker)
    cut_it(maker, codes)
    made = finish_it(maker, costs)
    sold, cost = sell_some(maker, made)
    look_at_the_month(maker, supplies, sold, cost)
    maker.tell("For a stall")


def plan_it(maker, codes):
    maker.begin()
    maker.follow("Jobs", within="nav")
    maker.follow("Pairs for stock")
    maker.write(note="Spring stall")
    for length in (60, 66, 72):
        maker.typed += 1
        maker.page.get_by_label(f"House {length} ({length} mm)").fill("2")
    maker.press("Take the job in")
    for code in codes:
        maker.clicks += 1
        maker.page.get_by_label(f"{code} Calf, chestnut").check()
    maker.press("Cut from these")
    with working():
        maker.press("Lay all pieces out")
        # The page looks again by itself while the worker searches.
        heading = maker.page.get_by_role("heading", name="What each pair costs")
        heading.wait_for(timeout=60_000)


def look_at_costs(maker):
    """Every pair's parts make its cost, and the pairs make the whole.

    Return the costs, and what all material but the leather comes to.
    """
    rows = [[*map(money, row[2:])] for row in maker.cells("#pairs > .table-wide tbody tr")]
    assert len(rows) == 6
    for *parts, cost in rows:
        assert sum(parts) == cost
    (foot,) = maker.cells("#pairs > .table-wide tfoot tr")
    assert [sum(column) for column in zip(*rows, strict=True)] == [*map(money, foot[1:])]
    # Each line of each pair, too, makes the pair's cost.
    maker.unfold("Every line of every pair")
    for table in maker.page.locator("#pairs details table").all():
        amounts = [money(cell.inner_text()) for cell in table.locator("td.num").all()]
        assert sum(amounts[:-1]) == amounts[-1]
    return [row[-1] for row in rows], sum(row[1] for row in rows)


def cut_it(maker, codes):
    maker.fits_a_phone()
    maker.press("Begin the work")
    maker.fits_a_phone()
    maker.follow("Cut list")
    maker.fits_a_phone()
    text = maker.read()
    for letter, length in zip("ABC", (60, 66, 72), strict=True):
        assert f"{letter}: Ankle boot, House {length}, 2 pairs" in text
    for code in codes:
        assert maker.page.get_by_role("heading", name=f"From {code}").count() == 1
    for code in codes:
        maker.press(f"are cut: From {code}", exact=False)
    assert maker.page.locator("li.cut-open").count() == 6 * LINED  # linings, soles and card
    for code in codes:
        maker.follow(f"{code} is done: see what is left")
        maker.press(f"{code} is cut")
        choices = maker.page.get_by_label("bin", exact=True)
        for number in range(choices.count()):
            maker.clicks += 1
            choices.nth(number).check()
        if choices.count():
            maker.press("So be it")
        maker.follow("Cut list")
    maker.follow("O-0001")


def finish_it(maker, costs):
    """Put all six on the shelf, at what each cost; return their codes."""
    maker.press("Put them on the shelf")
    assert "6 pairs are on the shelf." in maker.read()
    maker.follow("Pairs", within="nav")
    rows = maker.cells("main tbody tr")
    assert sorted(money(row[2]) for row in rows) == sorted(costs)
    return [row[0].split()[-1] for row in rows]


def sell_some(maker, made):
    """Take two to the stall: one is sold there, the other comes back."""
    for number in (0, 1):
        maker.follow("Ankle boot", within=f"tr:has-text('{made[number]}')")
        maker.unfold("Take it to a stall")
        maker.write(**{"take-place": "Spring stall"})
        maker.press("Take it to a stall")
        if number == 0:
            maker.unfold("It is sold")
            maker.write(**{"sell-price": "150"})
            maker.press("It is sold")
            figures = maker.figures("aside dl.pairs")
        else:
            maker.unfold("It came back from the stall")
            maker.press("It came back from the stall")
        maker.follow("Finished pairs")
    # 150 with 21 % tax in it: 150 * 21 / 121; the stall takes its 3.50.
    assert money(figures["Tax in it"]) == Decimal("26.03")
    assert money(figures["Fee of the place"]) == Decimal("3.50")
    return Decimal("150.00"), money(figures["Cost"])


def look_at_the_month(maker, supplies, sold, cost):
    maker.follow("Month", within="nav")
    month = dict(zip(MONTH, maker.cells("main table tbody tr")[0][1:], strict=False))
    tax = Decimal("26.03")
    assert (month["pairs made"], month["off the shelf"]) == ("6", "1")
    # Of the hides nothing is left, as the rest was thrown away: 9 dm² at 1.10 and two remnants.
    leather = Decimal("9.90") + Decimal("4.10") + Decimal("6.30")
    used = maker.cells(".card:has(> h2:text-is('Material used')) tbody tr")
    assert money(month["material"]) == sum(money(row[-1]) for row in used)
    # The pairs' own lines are rounded pair by pair: half a cent for each of at most eight.
    assert abs(money(month["material"]) - supplies - leather) <= 6 * 8 * Decimal("0.005")
    assert ["Calf, chestnut", "3\xa0pieces", f"{leather}"] in maker.cells("main table tbody tr")
    assert money(month["income"]) == sold - tax
    assert (money(month["fees"]), money(month["shelf cost"])) == (Decimal("3.50"), cost)
    assert money(month["profit"]) == sold - tax - Decimal("3.50") - cost
