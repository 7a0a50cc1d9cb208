"""Finished pairs as their pages show them; whoever may see no money is given none."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, QuerySet

from costing.money import to_minor_unit
from workshop.doors import MONEY
from workshop.models import Article, Commission, FinishedPair


@dataclass(frozen=True, slots=True)
class PairRow:
    """A pair in a list; amounts to the minor unit, None where no money is seen."""

    id: int
    number: int
    code: str
    name: str
    state: str
    state_words: str
    where: str
    made_on: datetime.date
    sold_on: datetime.date | None
    commission: Commission | None
    article: Article | None
    currency: str
    asked: Decimal | None
    cost: Decimal | None
    sold_price: Decimal | None
    sold_tax: Decimal | None
    sold_fee: Decimal | None
    lost_fees: Decimal | None
    earned: Decimal | None


def pair_row(pair: FinishedPair, role: str) -> PairRow:
    """Return a pair as pages show it."""
    sees = role in MONEY

    def money(value: Decimal | None) -> Decimal | None:
        return to_minor_unit(value, pair.currency) if sees and value is not None else None

    where = pair.place.name if pair.place is not None else ""
    if pair.state == FinishedPair.State.RESERVED and pair.customer is not None:
        where = pair.customer.name
    return PairRow(
        id=pair.pk,
        number=pair.number,
        code=pair.code,
        name=pair.name,
        state=pair.state,
        state_words=str(pair.get_state_display()),
        where=where,
        made_on=pair.made_on,
        sold_on=pair.sold_on,
        commission=pair.commission,
        article=pair.article if sees else None,
        currency=pair.currency if sees else "",
        asked=money(pair.asked),
        cost=money(pair.cost),
        sold_price=money(pair.sold_price),
        sold_tax=money(pair.sold_tax),
        sold_fee=money(pair.sold_fee),
        lost_fees=money(pair.lost_fees),
        earned=money(pair.earned),
    )


def pairs_of(state: str) -> QuerySet[FinishedPair]:
    """Return the pairs in a state, all of them for any other word."""
    pairs = FinishedPair.objects.select_related("place", "customer", "commission", "article")
    return pairs.filter(state=state) if state in FinishedPair.State.values else pairs


def pair_counts() -> list[tuple[str, str, int]]:
    """Return how many pairs there are in each state: its key, its words, how many."""
    rows = FinishedPair.objects.order_by().values_list("state").annotate(count=Count("pk"))
    counts = dict(rows)
    return [(key, str(words), counts.get(key, 0)) for key, words in FinishedPair.State.choices]


@dataclass(frozen=True, slots=True)
class StepRow:
    """One thing that was done with a pair; amounts None where no money is seen."""

    done_on: datetime.date
    words: str
    place: str
    price: Decimal | None
    fee: Decimal | None
    note: str
    who: str


def pair_steps(pair: FinishedPair, role: str) -> list[StepRow]:
    """Return what was done with a pair, the first thing first."""
    sees = role in MONEY
    return [
        StepRow(
            step.done_on,
            str(step.get_kind_display()),
            step.place.name if step.place is not None else "",
            step.price if sees else None,
            step.fee if sees else None,
            step.note,
            step.made_by.get_username() if step.made_by is not None else "",
        )
        for step in pair.steps.select_related("place", "made_by")
    ]
