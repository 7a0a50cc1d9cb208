"""Long lists, a page at a time, by the last row shown rather than by counting rows."""

from dataclasses import dataclass
from typing import Any

from django.db.models import F, Q, QuerySet

PAGE_ROWS = 50


@dataclass(frozen=True, slots=True)
class ListPage:
    """One page of records and the number to ask the next page with."""

    rows: list[Any]
    next_before: int | None


@dataclass(frozen=True, slots=True)
class Order:
    """What a list is sorted by: an expression on its model, and which way.

    Rows alike in it stand in the order of their key, the same way round, so that one index on both
    serves both ways. Rows without a value (`may_be_empty`) come last both ways.
    """

    by: Any
    is_falling: bool = False
    may_be_empty: bool = False

    @property
    def value(self) -> Any:
        """Return the expression; the name of a field stands for itself."""
        return F(self.by) if isinstance(self.by, str) else self.by


NEWEST = Order("", is_falling=True)  # by the key alone


def list_page(
    records: QuerySet[Any], before: str, *, key: str = "number", order: Order = NEWEST
) -> ListPage:
    """Return the page of records after the one whose key is `before` (the first for no number).

    A page costs the same however far down it is.
    """
    if before.isascii() and before.isdigit() and len(before) < 12:
        records = _after(records, int(before), key, order)
    rows = list(sorted_by(records, order, key=key)[: PAGE_ROWS + 1])
    more = len(rows) > PAGE_ROWS
    rows = rows[:PAGE_ROWS]
    return ListPage(rows, getattr(rows[-1], key) if more else None)


def sorted_by(records: QuerySet[Any], order: Order, *, key: str = "number") -> QuerySet[Any]:
    """Return the records in their order."""
    sign = "-" if order.is_falling else ""
    if not order.by:
        return records.order_by(f"{sign}{key}")
    shown = F("sorted_by")
    last = True if order.may_be_empty else None
    by = shown.desc(nulls_last=last) if order.is_falling else shown.asc(nulls_last=last)
    return records.annotate(sorted_by=order.value).order_by(by, f"{sign}{key}")


def _after(records: QuerySet[Any], number: int, key: str, order: Order) -> QuerySet[Any]:
    """Return the records that stand after the one with this key."""
    way = "lt" if order.is_falling else "gt"
    later = Q(**{f"{key}__{way}": number})
    if not order.by:
        return records.filter(later)
    # Asked of the whole table: a record that has left the filter since still has its place.
    every = records.model._default_manager.annotate(sorted_by=order.value)
    shown = list(every.filter(**{key: number}).values_list("sorted_by", flat=True)[:1])
    if not shown:
        return records
    if shown[0] is None:
        wanted = Q(sorted_by=None) & later
    else:
        # The first part repeats what the second says, in words an index can be searched by.
        wanted = Q(**{f"sorted_by__{way}e": shown[0]})
        wanted &= Q(**{f"sorted_by__{way}": shown[0]}) | later
        if order.may_be_empty:
            wanted |= Q(sorted_by=None)
    return records.annotate(sorted_by=order.value).filter(wanted)
