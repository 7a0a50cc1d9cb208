from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.errors import CostError, StockCostError
from costing.stock_cost import Issue, Receipt, fifo_cost, moving_average_cost, specific_cost

WAYS = [fifo_cost, moving_average_cost]


@st.composite
def histories(draw):
    """Return moves that never take more than there is, and what was paid in all."""
    moves, held, paid = [], 0, Fraction(0)
    for place in range(draw(st.integers(1, 12))):
        if held and draw(st.booleans()):
            taken = draw(st.integers(1, held))
            moves.append(Issue(Decimal(taken)))
            held -= taken
        else:
            quantity, cost = draw(st.integers(1, 50)), draw(st.integers(0, 900))
            moves.append(Receipt(f"lot {place}", Decimal(quantity), Decimal(cost) / 100))
            held += quantity
            paid += Fraction(quantity * cost, 100)
    return moves, held, paid


@given(histories(), st.sampled_from(WAYS))
def test_what_was_paid_is_either_taken_or_still_there(history, way):
    moves, held, paid = history
    cost = way(moves)
    assert cost.issued_cost + cost.stock_value == paid
    assert cost.on_hand == held


@given(histories())
def test_one_unit_cost_makes_both_ways_the_same(history):
    moves, _held, _paid = history
    same = [
        Receipt(move.lot, move.quantity, Decimal("1.50")) if isinstance(move, Receipt) else move
        for move in moves
    ]
    assert fifo_cost(same) == moving_average_cost(same)


LOTS = [Receipt("a", Decimal(10), Decimal(2)), Receipt("b", Decimal(5), Decimal(3))]


@pytest.mark.parametrize("way", WAYS)
def test_more_than_there_is_cannot_be_taken(way):
    with pytest.raises(StockCostError, match="only 15 are there"):
        way([*LOTS, Issue(Decimal(16))])


@pytest.mark.parametrize(
    ("from_lots", "code"),
    [
        (None, "lots_missing"),
        ({"c": Decimal(6)}, "lot_unknown"),
        ({"b": Decimal(6)}, "stock_short"),
    ],
)
def test_own_cost_needs_lots_that_hold_enough(from_lots, code):
    with pytest.raises(StockCostError) as caught:
        specific_cost([*LOTS, Issue(Decimal(6), from_lots)])
    assert caught.value.code == code


def test_lots_have_their_own_names():
    with pytest.raises(StockCostError, match="twice"):
        specific_cost([LOTS[0], LOTS[0]])


@pytest.mark.parametrize(
    "make",
    [
        lambda: Receipt("a", Decimal(0), Decimal(1)),
        lambda: Receipt("", Decimal(1), Decimal(1)),
        lambda: Receipt("a", Decimal(1), Decimal("NaN")),
        lambda: Issue(Decimal(-1)),
        lambda: Issue(Decimal(3), {"a": Decimal(2)}),
        lambda: Issue(Decimal(1), {"a": Decimal(2), "b": Decimal(-1)}),
    ],
)
def test_faulty_move_is_refused(make):
    with pytest.raises(CostError):
        make()
