"""The ledger of supplies: what moves, what is refused, and that balances stay its sum."""

import threading
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from io import StringIO

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import connection

from tests.workshop.fixtures_stock import make_supply
from workshop.models import AuditEntry, StockBalance, Supply
from workshop.selectors.stock import balance_faults
from workshop.services.stock import (
    stock_buy,
    stock_count,
    stock_release,
    stock_reserve,
    stock_use,
    supply_save,
)


def balance(supply):
    row = StockBalance.objects.get(supply=supply)
    return row.on_hand, row.reserved, row.free


def amounts(text):
    return {"quantity": Decimal(text), "reason": "test", "by": None}


@pytest.mark.django_db
def test_each_move_changes_on_hand_reserved_and_free():
    lace = make_supply("lace", on_hand="25")
    stock_reserve(lace, **amounts("4"))
    assert balance(lace) == (25_000, 4_000, 21_000)
    stock_use(lace, **amounts("1.5"))
    assert balance(lace) == (23_500, 4_000, 19_500)
    stock_use(lace, **amounts("3"), from_reserved=True)
    assert balance(lace) == (20_500, 1_000, 19_500)
    stock_release(lace, **amounts("1"))
    assert balance(lace) == (20_500, 0, 20_500)
    move = stock_count(lace, counted=Decimal("20"), reason="count", by=None)
    assert (move.on_hand_change, balance(lace)) == (-500, (20_000, 0, 20_000))
    assert not balance_faults()


@pytest.mark.django_db
def test_using_more_than_is_free_says_both_figures_and_books_nothing():
    lace = make_supply("lace", on_hand="25")
    stock_reserve(lace, **amounts("20"))
    with pytest.raises(ValidationError) as refused:
        stock_use(lace, **amounts("5.5"))
    assert refused.value.message_dict == {"quantity": ["5.5 m asked for, but only 5 m are free."]}
    assert balance(lace) == (25_000, 20_000, 5_000)
    assert lace.moves.count() == 2


@pytest.mark.django_db
def test_counting_less_than_is_reserved_is_refused_with_both_figures():
    lace = make_supply("lace", on_hand="25")
    stock_reserve(lace, **amounts("20"))
    with pytest.raises(ValidationError, match="12 m counted, but 20 m are reserved"):
        stock_count(lace, counted=Decimal(12), reason="count", by=None)


@pytest.mark.django_db
def test_releasing_more_than_is_reserved_is_refused():
    lace = make_supply("lace", on_hand="25")
    with pytest.raises(ValidationError, match="1 m asked for, but only 0 m are reserved"):
        stock_release(lace, **amounts("1"))


@pytest.mark.django_db
@pytest.mark.parametrize("quantity", ["0", "-1", "NaN", "Infinity", "1e9", "0.0001"])
def test_a_quantity_that_cannot_be_booked_is_refused(quantity):
    lace = make_supply("lace", on_hand="25")
    with pytest.raises(ValidationError) as refused:
        stock_buy(lace, **amounts(quantity))
    assert "quantity" in refused.value.message_dict
    assert lace.moves.count() == 1


@pytest.mark.django_db
def test_a_line_of_the_ledger_cannot_be_changed_or_deleted():
    lace = make_supply("lace", on_hand="25")
    move = lace.moves.get()
    move.on_hand_change = 1
    with pytest.raises(ValidationError):
        move.save()
    with pytest.raises(ValidationError):
        move.delete()


@pytest.mark.django_db
def test_every_line_stands_on_the_trail_with_its_maker(owner):
    lace = make_supply("lace")
    stock_buy(lace, quantity=Decimal(3), reason="one reel", by=owner)
    entry = AuditEntry.objects.filter(record_kind="stockmove").latest("id")
    assert (entry.who, entry.action, entry.after["reason"]) == (owner, "bought", "one reel")


def at_once(*works):
    """Run functions at once, each on a connection of its own, and return what they return."""
    gate = threading.Barrier(len(works))
    with ThreadPoolExecutor(len(works)) as pool:
        return [found.result(60) for found in [pool.submit(_alone, w, gate) for w in works]]


def _alone(work, gate):
    gate.wait(10)
    try:
        return work()
    finally:
        connection.close()


@pytest.mark.django_db(transaction=True)
def test_the_last_unit_goes_to_one_of_two_at_once():
    box = make_supply("box", on_hand="1")

    def take():
        try:
            stock_use(Supply.objects.get(pk=box.pk), **amounts("1"))
        except ValidationError as refused:
            return refused.message_dict["quantity"]
        return "taken"

    outcomes = at_once(take, take)
    assert sorted(outcomes, key=str) == [["1 piece asked for, but only 0 piece are free."], "taken"]
    assert balance(box) == (0, 0, 0)
    assert box.moves.filter(kind="used").count() == 1


@pytest.mark.django_db(transaction=True)
def test_many_reservations_at_once_lose_none():
    reel = make_supply("thread", on_hand="100")

    def reserve():
        for _ in range(10):
            stock_reserve(Supply.objects.get(pk=reel.pk), **amounts("1"))

    at_once(reserve, reserve, reserve)
    assert balance(reel) == (100_000, 30_000, 70_000)
    assert not balance_faults()


@pytest.mark.django_db
def test_check_records_says_all_is_well(supplies, settings, tmp_path):
    settings.DATA_DIR = tmp_path  # files of other tests are named by no record here
    out = StringIO()
    call_command("check_records", stdout=out)
    assert out.getvalue() == ("10 supplies, 10 moves: every balance is the sum of its moves\n")


@pytest.mark.django_db
@pytest.mark.parametrize("wrong", ["balance", "missing"])
def test_check_records_names_a_balance_that_is_not_the_sum(supplies, wrong):
    lace = supplies["lace"]
    row = StockBalance.objects.filter(supply=lace)
    if wrong == "balance":
        row.update(on_hand=49_000, free=49_000)
    else:
        row.delete()
    err = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("check_records", stderr=err)
    assert ended.value.code == 1
    lines = err.getvalue().splitlines()
    assert len(lines) == 1
    assert lines[0].startswith(f"{lace.code} {lace.name}: the balance says ")
    assert lines[0].endswith("the ledger adds up to 50 and 0")


@pytest.mark.django_db
def test_the_first_of_a_kind_is_the_usual_one_and_a_new_usual_one_takes_over():
    first = make_supply("lace", name="white")
    second = make_supply("lace", name="black")
    assert Supply.objects.get(kind="lace", is_usual=True) == first
    second.is_usual = True
    supply_save(second, by=None)
    assert Supply.objects.get(kind="lace", is_usual=True) == second


@pytest.mark.django_db
def test_the_unit_stays_once_something_was_booked_in_it():
    lace = make_supply("lace", on_hand="5")
    lace.unit = "piece"
    with pytest.raises(ValidationError, match="has a ledger in m"):
        supply_save(lace, by=None)
    thread_reel = make_supply("thread")
    thread_reel.unit = "piece"
    supply_save(thread_reel, by=None)
    assert Supply.objects.get(pk=thread_reel.pk).unit == "piece"
