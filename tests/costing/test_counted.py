"""A job counted back: sums of shown lines, what was not written down, and the profit earned."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.counted import count_back, minutes_by_timing, planned_minutes
from costing.errors import CostError, JobError, StockCostError
from costing.job_file import job_from_document
from costing.price import price_job
from costing.shelf import Shelf
from costing.stock_cost import Issue, Receipt, fifo_cost, moving_average_cost
from tests.samples_sales import sale_documents

JOB_SHEET = {
    # Source: OpenStax Principles of Accounting vol. 2, 4.4-4.6, the job cost sheet: materials 300 +
    # 100 + 60 + 60 + 120 + 60, labour 15 + 15 + 36, overhead at 2.50 for each unit of labour money,
    # sold for 2,000. Labour is written as hours at 1.00; overhead falls on those hours.
    "currency": "USD",
    "quantity": 1,
    "materials": [
        {"name": f"requisition {n}", "quantity": amount, "unit": "USD", "unit_cost": "1",
         "waste_pct": "0"}
        for n, amount in enumerate(("300", "100", "60", "60", "120", "60"), 1)
    ],
    "steps": [
        {"name": f"ticket {n}", "minutes": str(60 * hours), "per": "order"}
        for n, hours in enumerate((15, 15, 36), 1)
    ],
    "labour_rate_per_hour": "1",
    "overhead": {"per_active_hour": "2.50", "pct_of_direct": "0"},
    "fees": {"pct": "0", "fixed": "0", "on": "price_with_tax"},
    "tax": {"pct": "0", "included": True},
    "profit": {"kind": "markup", "pct": "114.82"},
    "round_up_to": "1.00",
}  # fmt: skip


def counted(job, estimate, minutes=None, material=None, waiting=None):
    return count_back(
        job, estimate, minutes=minutes or {}, waiting_min=waiting or {}, material=material or {}
    )


def test_a_job_cost_sheet_counted_back_gives_its_total_and_profit():
    job = job_from_document(JOB_SHEET)
    estimate = price_job(job)
    taken = {f"ticket {n}": Decimal(60 * hours) for n, hours in enumerate((15, 15, 36), 1)}
    found = counted(job, estimate, minutes=taken)
    assert (found.sum_of("material"), found.sum_of("labour"), found.sum_of("overhead")) == (
        700,
        66,
        165,
    )
    assert found.cost == 931
    assert found.price == 2000
    assert found.profit == 2000 - 931


def test_more_hours_take_their_money_and_their_overhead_from_the_profit():
    job = job_from_document(JOB_SHEET)
    estimate = price_job(job)
    found = counted(job, estimate, minutes={"ticket 3": Decimal(40 * 60)})
    # Four hours more at 1.00 and 2.50 of overhead each.
    assert found.profit == estimate.profit - 4 * (1 + Decimal("2.50"))
    (line,) = [line for line in found.lines if line.name == "ticket 3"]
    assert (line.estimated, line.taken, line.difference) == (36, 40, 4)
    assert (line.estimated_min, line.taken_min) == (36 * 60, 40 * 60)
    assert not found.is_complete


def test_what_nobody_planned_stands_on_a_line_of_its_own():
    job = job_from_document(JOB_SHEET)
    found = counted(
        job,
        price_job(job),
        minutes={"repair": Decimal(30)},
        material={"wax": Fraction(7, 3)},
        waiting={"cooling": Decimal(45)},
    )
    lines = {line.name: line for line in found.lines}
    assert (lines["wax"].estimated, lines["wax"].taken) == (0, Decimal("2.33"))
    assert (lines["repair"].estimated, lines["repair"].taken) == (0, Decimal("0.50"))
    assert [(row.name, row.estimated_min, row.taken_min) for row in found.waited] == [
        ("cooling", 0, 45)
    ]


@given(sale_documents())
def test_nothing_written_down_earns_exactly_what_was_estimated(document):
    job = job_from_document(document)
    try:
        estimate = price_job(job)
    except CostError:
        return
    found = counted(job, estimate)
    assert found.cost == estimate.cost
    assert found.profit == estimate.profit
    assert all(line.difference == 0 for line in found.lines)


@given(sale_documents(), st.decimals(0, 5000, places=2), st.decimals(0, 900, places=3))
def test_lines_add_up_and_every_amount_is_recomputed_in_fractions(document, minutes, cost):
    job = job_from_document(document)
    try:
        estimate = price_job(job)
    except CostError:
        return
    names = [step.name for step in job.steps if not step.passive][:1]
    found = counted(
        job, estimate, minutes=dict.fromkeys(names, minutes), material={"x": Fraction(cost)}
    )
    assert sum(line.taken for line in found.lines) == found.cost
    assert found.price - found.tax - found.fees - found.cost == found.profit
    taken = {
        name: planned for (name, passive), planned in planned_minutes(job).items() if not passive
    }
    taken |= dict.fromkeys(names, Fraction(minutes))
    hours = sum(taken.values(), Fraction(0)) / 60
    material = sum(
        (
            Fraction(use.quantity)
            * job.pair_count
            / (1 - Fraction(use.waste_percent) / 100)
            * Fraction(use.unit_cost)
            for use in job.materials
        ),
        Fraction(cost),
    )
    direct = material + hours * Fraction(job.labour_rate_per_h)
    overhead = hours * Fraction(job.overhead.per_active_hour)
    overhead += direct * Fraction(job.overhead.percent_of_direct) / 100
    unit = Fraction(1, 10 ** -found.price.as_tuple().exponent)
    assert abs(Fraction(found.sum_of("overhead")) - overhead) <= unit / 2


@pytest.mark.parametrize(
    ("minutes", "material"),
    [
        ({"ticket 1": Decimal(-1)}, {}),
        ({"ticket 1": Decimal("NaN")}, {}),
        ({"ticket 1": Decimal("1e30")}, {}),
        ({}, {"wax": Fraction(-1)}),
    ],
)
def test_minutes_and_costs_out_of_range_are_refused(minutes, material):
    job = job_from_document(JOB_SHEET)
    with pytest.raises(JobError):
        counted(job, price_job(job), minutes=minutes, material=material)


def test_a_timing_says_the_minutes_of_its_rule():
    # Cutting at 1.5 minutes a piece was planned at 21 minutes for 14 pieces and took 35: 2.5 each.
    found = minutes_by_timing(Decimal("1.5"), planned_min=Fraction(21), taken_min=Decimal(35))
    assert found == Decimal("2.5")
    assert minutes_by_timing(Decimal(0), planned_min=Fraction(0), taken_min=Decimal(5)) is None


def test_shelf_gives_the_textbook_costs_taking_by_taking():
    # Source: OpenStax Principles of Accounting vol. 1, 10.2-10.3: lots 150@21, 225@27, 210@33; sold
    # 120 after the first lot and 180 after the second. First in first out 7,200 and 8,955 left;
    # moving average 26.2941, cost 7,252.94, 8,902.06 left, to the cent by that book's method.
    costs = {}
    for way in ("fifo", "average"):
        shelf = Shelf(way)
        shelf.receive(150, Decimal(150 * 21))
        first = shelf.take(120)
        shelf.receive(225, Decimal(225 * 27))
        second = shelf.take(180)
        shelf.receive(210, Decimal(210 * 33))
        costs[way] = (first, second, shelf.value)
        assert shelf.on_hand == 285
    assert costs["fifo"] == (120 * 21, 30 * 21 + 150 * 27, 8955)
    first, second, value = costs["average"]
    assert first == 2520
    assert round(float(first + second), 2) == 7252.94
    assert round(float(value), 2) == 8902.06


MOVES = st.lists(
    st.tuples(st.sampled_from(["in", "take", "pass"]), st.integers(1, 90), st.integers(0, 4000)),
    max_size=20,
)


@given(MOVES, st.sampled_from(["fifo", "average"]))
def test_shelf_agrees_with_the_cost_of_all_moves_together(moves, way):
    shelf, history, cost = Shelf(way), [], Fraction(0)
    for kind, quantity, unit_cost in moves:
        if kind == "in":
            shelf.receive(quantity, Decimal(quantity * unit_cost))
            history.append(Receipt("lot", Decimal(quantity), Decimal(unit_cost)))
        elif quantity <= shelf.on_hand:
            before = shelf.value
            taken = shelf.take(quantity) if kind == "take" else shelf.pass_by(quantity)
            cost += before - shelf.value
            assert taken in (None, before - shelf.value)
            history.append(Issue(Decimal(quantity)))
    whole = {"fifo": fifo_cost, "average": moving_average_cost}[way](history)
    assert (whole.issued_cost, whole.stock_value, whole.on_hand) == (
        cost,
        shelf.value,
        shelf.on_hand,
    )


def test_a_moving_average_over_a_long_ledger_stays_bounded_and_true():
    # What came in is what went out and what is left, to far below any amount of money.
    shelf, came, went = Shelf("average"), 0, Fraction(0)
    for number in range(400):
        shelf.receive(7 + number % 5, Decimal(11 + number % 13))
        came += 11 + number % 13
        went += shelf.take(3 + number % 7)
    assert shelf.value.denominator <= 10**41
    assert abs(came - went - shelf.value) < Fraction(1, 10**25)


def test_shelf_refuses_more_than_it_holds_and_takes_nothing():
    for way in ("fifo", "average"):
        shelf = Shelf(way)
        shelf.receive(2, Decimal(6))
        for quantity in (3, 0, -1):
            with pytest.raises(StockCostError):
                shelf.take(quantity)
            with pytest.raises(StockCostError):
                shelf.pass_by(quantity)
        assert (shelf.on_hand, shelf.value) == (2, 6)
        for quantity, cost in ((0, 1), (-1, 1), (1, -1)):
            with pytest.raises(StockCostError):
                shelf.receive(quantity, Decimal(cost))
    with pytest.raises(StockCostError):
        Shelf("lifo")
