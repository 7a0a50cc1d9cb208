"""The ledger read from a mark gives what reading it from its first move gives."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import count
from unittest import mock

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from costing.shelf import Shelf
from tests.workshop.fixtures_stock import make_supply
from workshop import shelf_marks
from workshop.models import Commission, ShelfMark, StockMove, WorkshopProfile
from workshop.selectors import ledger
from workshop.selectors.ledger import shelves_now
from workshop.services.stock import stock_buy, stock_count, stock_use, stock_use_for

pytestmark = pytest.mark.django_db

STEPS = st.lists(
    st.tuples(
        st.sampled_from(["buy", "buy", "use", "take", "take for another", "give back", "count"]),
        st.integers(0, 1),
        st.decimals("0.5", "30", places=3),
        st.integers(0, 5),
    ),
    max_size=14,
)
WAYS = pytest.mark.parametrize("way", ["fifo", "average"])
numbers = count(7000)


@pytest.fixture
def costing_by(db):
    """Choose how the workshop counts what it takes."""
    WorkshopProfile.current()
    return lambda way: WorkshopProfile.objects.update(stock_cost=way)


def booked(supplies, jobs, steps):
    """Book what can be booked of the steps, each on a day so long ago, in whatever order."""
    for price, (kind, which, quantity, days_ago) in enumerate(steps, 1):
        supply, job = supplies[which], jobs[kind == "take for another"]
        try:
            if kind == "buy":
                paid = quantity * (price % 5)
                move = stock_buy(supply, quantity=quantity, paid=paid, reason="any", by=None)
            elif kind == "use":
                move = stock_use(supply, quantity=quantity, reason="any", by=None)
            elif kind == "count":
                move = stock_count(supply, counted=quantity, reason="any", by=None)
            else:
                amount = -quantity if kind == "give back" else quantity
                move = stock_use_for(supply, commission=job, quantity=amount, by=None)
        except ValidationError:
            continue
        made_at = timezone.now() - timedelta(days=days_ago)
        StockMove.objects.filter(pk=move.pk).update(made_at=made_at)


def by_hand(supply, way):
    """Work a supply through from its first move, goods as a list: costs by move, and what is left.

    On the average every thousandth costs alike after each move; else the oldest go first.
    """
    goods, costs, of_jobs = [], {}, {}
    for move in StockMove.objects.filter(supply=supply).order_by("id"):
        change, job = move.on_hand_change, move.commission_id
        if change > 0:
            each = Fraction(move.cost or 0) / change
            if job:
                taken, spent = of_jobs[job]
                each = spent / taken
                of_jobs[job] = (taken - change, spent - each * change)
                costs[move.pk] = -each * change
            goods.append([change, each])
        elif change < 0:
            cost, missing = Fraction(0), -change
            while missing:
                lot = goods[0]
                out = min(lot[0], missing)
                cost, missing, lot[0] = cost + out * lot[1], missing - out, lot[0] - out
                if not lot[0]:
                    goods.pop(0)
            taken, spent = of_jobs.get(job, (0, 0))
            of_jobs[job] = (taken - change, spent + cost)
            costs[move.pk] = cost
        if way == "average" and goods:
            there = sum(lot[0] for lot in goods)
            goods = [[there, sum(lot[0] * lot[1] for lot in goods) / there]]
    return costs, (sum(lot[0] for lot in goods), sum(lot[0] * lot[1] for lot in goods))


@WAYS
@settings(
    max_examples=24,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(STEPS, STEPS, st.integers(0, 5), st.integers(0, 5))
def test_a_reading_begun_at_a_mark_is_that_of_all_of_it(
    customer, doll, costing_by, way, earlier, later, days_ago, length
):
    costing_by(way)
    supplies = [make_supply("thread", on_hand="9"), make_supply("lace")]
    jobs = [
        Commission.objects.create(number=next(numbers), customer=customer, doll=doll)
        for _ in range(2)
    ]
    today = timezone.localdate()
    first = today - timedelta(days=days_ago)
    days = (first, min(today, first + timedelta(days=length)))
    asked = {"supplies": [supply.pk for supply in supplies]}
    with mock.patch.multiple(shelf_marks, MARK_EVERY=1, MARK_FAR=2):
        booked(supplies, jobs, earlier)
        shelves_now(asked["supplies"])
        assert ShelfMark.objects.filter(supply__in=asked["supplies"], way=way).exists()
        booked(supplies, jobs, later)
        hand = {supply.pk: by_hand(supply, way) for supply in supplies}
        known = {move: cost for costs, _left in hand.values() for move, cost in costs.items()}
        for more in ({"jobs": [jobs[0].pk]}, {"jobs": [jobs[1].pk], "days": days}, {"days": days}):
            for _again in range(2):  # the second finds the marks of the first
                found = ledger.ledger_of(**asked, **more, worth_on=today)
                assert found.costs.items() <= known.items()
                assert _wanted(asked["supplies"], more) <= found.costs.keys()
                left = {supply: worth for supply, (_costs, worth) in hand.items()}
                assert found.worth == left
            alone = ledger.ledger_of(**asked, **more)
            assert (alone.costs, alone.worth) == (found.costs, {})
            with mock.patch.object(ledger, "mark_before", return_value=None):
                whole = ledger.ledger_of(**asked, **more, worth_on=days[1])
            assert ledger.ledger_of(**asked, **more, worth_on=days[1]).worth == whole.worth
        shelves = shelves_now(asked["supplies"])
        for supply, (_costs, (on_hand, value)) in hand.items():
            there = shelves.get(supply, Shelf(way))
            assert (there.on_hand, there.value) == (on_hand, value)
            if on_hand:
                next_one = there.cost_of_next(Fraction(1))[1]
                assert there.take(1) == next_one


def _wanted(supplies, asked):
    """Return the moves whose cost must be told."""
    moves = StockMove.objects.filter(commission__in=asked.get("jobs", ()))
    if "days" in asked:
        first, last = asked["days"]
        moves |= StockMove.objects.filter(
            kind="used",
            made_at__gte=ledger.end_of(first - timedelta(days=1)),
            made_at__lt=ledger.end_of(last),
        )
    return set(moves.filter(supply__in=supplies).values_list("id", flat=True))


@WAYS
def test_a_marked_shelf_reads_the_end_of_a_long_ledger_alone(customer, doll, costing_by, way):
    costing_by(way)
    thread = make_supply("thread", on_hand="100")
    for _ in range(9):
        stock_buy(thread, quantity=Decimal(2), paid=Decimal(1), reason="any", by=None)
    job = Commission.objects.create(number=next(numbers), customer=customer, doll=doll)
    move = stock_use_for(thread, commission=job, quantity=Decimal(3), by=None)
    stock_use(thread, quantity=Decimal(1), reason="after it", by=None)
    asked = {"supplies": [thread.pk], "jobs": [job.pk]}
    with mock.patch.object(shelf_marks, "MARK_EVERY", 5):
        first = ledger.ledger_of(**asked)
    mark = ShelfMark.objects.get()
    assert mark.shelf["on_hand"] == 118_000  # before the job's own move
    with mock.patch.object(ledger, "_rows", wraps=ledger._rows) as read:
        assert ledger.ledger_of(**asked).costs == first.costs
    ((_supply, begun, end),) = [call.args for call in read.call_args_list]
    assert (begun, end) == (mark.move_id + 1, move.pk + 1)
    # 9.80 for 100 m, then nine times 1.00 for 2 m.
    expected = {"fifo": Fraction("9.80") / 100 * 3, "average": Fraction("18.80") / 118 * 3}
    assert list(first.costs.values()) == [expected[way]]


@WAYS
def test_a_long_way_to_an_early_day_leaves_marks_beside_it(db, costing_by, way):
    costing_by(way)
    thread = make_supply("thread", on_hand="100")
    for _ in range(20):
        stock_use(thread, quantity=Decimal(2), reason="any", by=None)
    with mock.patch.multiple(shelf_marks, MARK_EVERY=2, MARK_FAR=5):
        (shelf,) = shelves_now([thread.pk]).values()
    assert [mark.shelf["on_hand"] for mark in ShelfMark.objects.filter(way=way)] == [
        62_000,
        72_000,
        82_000,
        92_000,
    ]
    # A change of the way of costing finds no mark of the other.
    costing_by("average" if way == "fifo" else "fifo")
    (other,) = shelves_now([thread.pk]).values()
    assert shelf.value == other.value == 60 * Fraction("0.098")


def test_worth_on_a_day_is_that_before_the_first_move_after_it(customer, doll):
    thread = make_supply("thread", on_hand="10")
    StockMove.objects.update(made_at=timezone.now() - timedelta(days=40))
    stock_buy(thread, quantity=Decimal(5), paid=Decimal(3), reason="any", by=None)
    before = timezone.localdate() - timedelta(days=2)
    assert ledger.ledger_of(worth_on=before).worth[thread.pk] == (10_000, Decimal("0.98"))
    assert ledger.ledger_of(worth_on=timezone.localdate()).worth[thread.pk] == (
        15_000,
        Decimal("3.98"),
    )
