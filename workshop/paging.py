"""Long lists, a page at a time, by the running number rather than by counting rows."""

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

PAGE_ROWS = 50


@dataclass(frozen=True, slots=True)
class ListPage:
    """One page of records and the number to ask the next page with."""

    rows: list[Any]
    next_before: int | None


def list_page(records: QuerySet[Any], before: str, *, key: str = "number") -> ListPage:
    """Return the page of records whose key is below `before` (all when it is no number).

    The records are shown newest first. A page costs the same however far down it is.
    """
    if before.isascii() and before.isdigit() and len(before) < 12:
        records = records.filter(**{f"{key}__lt": int(before)})
    rows = list(records.order_by(f"-{key}")[: PAGE_ROWS + 1])
    more = len(rows) > PAGE_ROWS
    rows = rows[:PAGE_ROWS]
    return ListPage(rows, getattr(rows[-1], key) if more else None)
