"""The ledger worked through from its end gives what working through all of it gives."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import count
from unittest import mock

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.workshop.fixtures_stock import make_supply
from workshop import average_marks
from workshop.models import AverageMark, Commission, StockBalance, StockMove, WorkshopProfile
from workshop.selectors import ledger
from workshop.services.stock import stock_buy, stock_use, stock_use_for

pytestmark = pytest.mark.django_db

STEPS = st.lists(
    st.tuples(
        st.sampled_from(["buy", "buy", "use", "take", "take for another", "give back"]),
        st.integers(0, 1),
        st.decimals("0.5", "30", places=3),
    ),
    max_size=14,
)
numbers = count(7000)


def booked(supplies, jobs, steps):
    """Book what can be booked of the steps."""
    for price, (kind, which, quantity) in enumerate(steps, 1):
        supply, job = supplies[which], jobs[kind == "take for another"]
        try:
            if kind == "buy":
                paid = quantity * (price % 5)
                stock_buy(supply, quantity=quantity, paid=paid, reason="any", by=None)
            elif kind == "use":
                stock_use(supply, quantity=quantity, reason="any", by=None)
            else:
                amount = -quantity if kind == "give back" else quantity
                stock_use_for(supply, commission=job, quantity=amount, by=None)
        except ValidationError:
            continue


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(STEPS)
def test_any_ledger_begun_late_gives_what_all_of_it_gives(customer, doll, steps):
    supplies = [make_supply("thread", on_hand="9"), make_supply("lace")]
    jobs = [
        Commission.objects.create(number=next(numbers), customer=customer, doll=doll)
        for _ in range(2)
    ]
    booked(supplies, jobs, steps)
    asked = {"supplies": [supply.pk for supply in supplies], "jobs": [jobs[0].pk]}
    late = ledger.ledger_of(**asked)
    with mock.patch.object(ledger, "_start", return_value=0):
        whole = ledger.ledger_of(**asked)
    assert late.costs == whole.costs
    on_shelf = {key: worth for key, worth in late.worth.items() if worth[0]}
    assert on_shelf == {key: worth for key, worth in whole.worth.items() if worth[0]}
    balances = StockBalance.objects.filter(supply__in=asked["supplies"], on_hand__gt=0)
    assert dict(balances.values_list("supply_id", "on_hand")) == {
        key: on_hand for key, (on_hand, _value) in on_shelf.items()
    }


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(STEPS, STEPS)
def test_a_moving_average_begun_at_a_mark_is_that_of_all_of_it(customer, doll, earlier, later):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(stock_cost="average")
    supplies = [make_supply("thread", on_hand="9"), make_supply("lace")]
    jobs = [
        Commission.objects.create(number=next(numbers), customer=customer, doll=doll)
        for _ in range(2)
    ]
    asked = {"supplies": [supply.pk for supply in supplies]}
    with mock.patch.object(average_marks, "MARK_EVERY", 1):
        booked(supplies, jobs, earlier)
        ledger.ledger_of(**asked)
        marks = AverageMark.objects.filter(supply__in=asked["supplies"])
        assert marks.exists()
        booked(supplies, jobs, later)
        for job in jobs:
            found = ledger.ledger_of(**asked, jobs=[job.pk])
            with mock.patch.object(ledger, "mark_before", return_value=None):
                whole = ledger.ledger_of(**asked, jobs=[job.pk])
            assert (found.costs, found.worth) == (whole.costs, whole.worth)
    for mark in marks:
        moves = StockMove.objects.filter(supply=mark.supply_id, id__lte=mark.move_id)
        assert sum(moves.values_list("on_hand_change", flat=True)) == mark.on_hand


def test_a_marked_average_reads_the_end_of_a_long_ledger_alone(customer, doll):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(stock_cost="average")
    thread = make_supply("thread", on_hand="100")
    for _ in range(9):
        stock_buy(thread, quantity=Decimal(2), paid=Decimal(1), reason="any", by=None)
    job = Commission.objects.create(number=next(numbers), customer=customer, doll=doll)
    stock_use_for(thread, commission=job, quantity=Decimal(3), by=None)
    asked = {"supplies": [thread.pk], "jobs": [job.pk]}
    with mock.patch.object(average_marks, "MARK_EVERY", 5):
        first = ledger.ledger_of(**asked)
    assert AverageMark.objects.get().on_hand == 118_000  # before the job's own move
    with mock.patch.object(ledger, "_rows", wraps=ledger._rows) as read:
        assert ledger.ledger_of(**asked).costs == first.costs
    ((_ids, begun),) = [call.args for call in read.call_args_list]
    assert begun == AverageMark.objects.get().move_id + 1
    # 9.80 for 100 m, then nine times 1.00 for 2 m.
    assert list(first.costs.values()) == [Fraction("18.80") / 118 * 3]


def test_a_late_job_reads_the_end_of_a_long_ledger_alone(customer, doll):
    thread = make_supply("thread", on_hand="100")
    for _ in range(30):
        stock_use(thread, quantity=Decimal(2), reason="any", by=None)
        stock_buy(thread, quantity=Decimal(2), paid=Decimal(1), reason="any", by=None)
    job = Commission.objects.create(number=next(numbers), customer=customer, doll=doll)
    stock_use_for(thread, commission=job, quantity=Decimal(3), by=None)
    with mock.patch.object(ledger, "_work_through", wraps=ledger._work_through) as worked:
        found = ledger.ledger_of(supplies=[thread.pk], jobs=[job.pk])
    (call,) = worked.call_args_list
    assert call.args[2].on_hand == found.worth[thread.pk][0]  # the shelf, after its one move
    # 60 of the 100 that came first were used; the next three cost 0.098 each.
    assert list(found.costs.values()) == [Decimal("0.294")]


def test_worth_on_a_day_is_that_before_the_first_move_after_it(customer, doll):
    thread = make_supply("thread", on_hand="10")
    StockMove.objects.update(made_at=timezone.now() - timedelta(days=40))
    stock_buy(thread, quantity=Decimal(5), paid=Decimal(3), reason="any", by=None)
    before = timezone.localdate() - timedelta(days=2)
    assert ledger.ledger_of(worth_on=before).worth[thread.pk] == (10_000, Decimal("0.98"))
    assert ledger.ledger_of().worth[thread.pk] == (15_000, Decimal("3.98"))
