"""Any order of bookings on two shelves, held against a plain count of our own after each."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from tests.workshop.fixtures_stock import make_supply
from workshop.models import StockBalance
from workshop.selectors.stock import balance_faults
from workshop.services.stock import (
    stock_buy,
    stock_count,
    stock_release,
    stock_reserve,
    stock_use,
)

SHELVES = st.sampled_from(["thread", "lace"])
AMOUNTS = st.decimals(min_value="0.001", max_value="30", places=3)


class Ledger(RuleBasedStateMachine):
    """Supplies bought, used, reserved, released and counted; `plain` is what should be there."""

    def __init__(self):
        super().__init__()
        self.block = transaction.atomic()
        self.block.__enter__()
        self.supplies = {kind: make_supply(kind) for kind in ("thread", "lace")}
        self.plain = {kind: [Decimal(0), Decimal(0)] for kind in self.supplies}
        self.booked = 0

    def teardown(self):
        transaction.set_rollback(True)
        self.block.__exit__(None, None, None)

    def book(self, do, kind, allowed, on_hand=Decimal(0), reserved=Decimal(0), **how):
        try:
            do(self.supplies[kind], reason="any", by=None, **how)
        except ValidationError:
            assert not allowed
            return
        assert allowed
        self.plain[kind][0] += on_hand
        self.plain[kind][1] += reserved
        self.booked += 1

    def free(self, kind):
        on_hand, reserved = self.plain[kind]
        return on_hand - reserved

    @rule(kind=SHELVES, amount=AMOUNTS)
    def buy(self, kind, amount):
        self.book(stock_buy, kind, True, on_hand=amount, quantity=amount)

    @rule(kind=SHELVES, amount=AMOUNTS)
    def use(self, kind, amount):
        allowed = amount <= self.free(kind)
        self.book(stock_use, kind, allowed, on_hand=-amount, quantity=amount)

    @rule(kind=SHELVES, amount=AMOUNTS)
    def use_of_what_is_kept(self, kind, amount):
        allowed = amount <= self.plain[kind][1]
        change = {"on_hand": -amount, "reserved": -amount}
        self.book(stock_use, kind, allowed, **change, quantity=amount, from_reserved=True)

    @rule(kind=SHELVES, amount=AMOUNTS)
    def reserve(self, kind, amount):
        allowed = amount <= self.free(kind)
        self.book(stock_reserve, kind, allowed, reserved=amount, quantity=amount)

    @rule(kind=SHELVES, amount=AMOUNTS)
    def release(self, kind, amount):
        allowed = amount <= self.plain[kind][1]
        self.book(stock_release, kind, allowed, reserved=-amount, quantity=amount)

    @rule(kind=SHELVES, amount=AMOUNTS)
    def count(self, kind, amount):
        on_hand, reserved = self.plain[kind]
        self.book(stock_count, kind, amount >= reserved, on_hand=amount - on_hand, counted=amount)

    @invariant()
    def the_balance_is_the_plain_count_and_the_sum_of_the_moves(self):
        for kind, supply in self.supplies.items():
            row = StockBalance.objects.filter(supply=supply).first()
            stands = (row.on_hand, row.reserved, row.free) if row else (0, 0, 0)
            on_hand, reserved = (int(1000 * value) for value in self.plain[kind])
            assert stands == (on_hand, reserved, on_hand - reserved)
        assert not balance_faults()
        assert sum(s.moves.count() for s in self.supplies.values()) == self.booked


@pytest.mark.django_db
def test_balance_and_ledger_agree_under_any_interleaving():
    rules = settings(
        max_examples=20,
        stateful_step_count=20,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
    )
    run_state_machine_as_test(Ledger, settings=rules)
