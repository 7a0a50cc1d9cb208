"""Lists that are sorted by their columns' heads and sent as tables: one table of columns for both.

A list is a tuple of `Column`s. Its page shows the heads (`partials/_heads.html`) and, where heads
are not seen, a choice (`partials/_sort.html`); its file has every column with a `cell`. Filters
and the order stand in the address, so that a page, its later pages and its file show the same.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import Any

from django.db.models import Case, QuerySet, Value, When
from django.db.models.functions import Lower
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.models import WorkshopProfile
from workshop.month_files import table_parts
from workshop.paging import NEWEST, ListPage, Order, list_page, sorted_by

TABLE = "text/csv; charset=utf-8"
FILE_CHUNK = 500  # records read at a time for a file
NOT_KEPT = ("before", "sort")  # of the address, when a list is sorted anew


def folded(name: str) -> Lower:
    """Return an order by words in which capitals make no difference."""
    return Lower(name)


def by_words(name: str, choices: Iterable[tuple[str, Any]]) -> Case:
    """Return an order by what a choice's words are on the page, in the language it is read in."""
    ranked = sorted(choices, key=lambda choice: str(choice[1]).casefold())
    whens = [When(**{name: key}, then=Value(place)) for place, (key, _words) in enumerate(ranked)]
    return Case(*whens, default=Value(len(whens)))


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a list.

    Attributes
    ----------
    key : str
        Its name in the address and in the file.
    words : str
        Its head on the page, translated when shown; empty for one that only the file has.
    by : expression, or a function that returns one
        What it is sorted by in the database; a function where words of a language decide.
    value : function of a row
        What a list that is put together in Python is sorted by; None sorts last.
    cell : function of a row
        What the file holds; None where only the page has the column.
    """

    key: str
    words: Any = ""
    by: Any = None
    value: Callable[[Any], Any] | None = None
    cell: Callable[[Any], Any] | None = None
    css: str = ""
    may_be_empty: bool = False
    is_money: bool = False
    names_currency: bool = False

    @property
    def is_sorted_by(self) -> bool:
        """Return whether the list can be sorted by it."""
        return self.by is not None or self.value is not None


@dataclass(frozen=True, slots=True)
class Head:
    """A column's head: where a press on it leads, and which way the list is sorted by it now."""

    words: Any
    css: str
    address: str
    way: str


class Listing:
    """A list as the address asks for it.

    Parameters
    ----------
    columns : sequence of Column
        All of its columns; those of money are left out for a role that sees none.
    request : HttpRequest
        Its query names the column: ``?sort=name``, or ``?sort=-name`` for falling.
    key : str
        The running number its records are told apart by.
    """

    def __init__(
        self, columns: Sequence[Column], request: HttpRequest, *, key: str = "number"
    ) -> None:
        self.columns = [
            column for column in columns if not column.is_money or request.role in MONEY
        ]
        self.query = request.GET
        self.key = key
        self.role = request.role
        asked = request.GET.get("sort", "")
        names = {column.key: column for column in self.columns if column.is_sorted_by}
        self.column = names.get(asked.removeprefix("-"))
        self.is_falling = asked.startswith("-")
        self.is_unknown = bool(asked) and self.column is None
        self.sort = asked if self.column is not None else ""

    @property
    def order(self) -> Order:
        """Return what the database sorts by."""
        if self.column is None:
            return NEWEST
        by = self.column.by() if callable(self.column.by) else self.column.by
        if by == self.key:
            return Order("", is_falling=self.is_falling)
        return Order(by, is_falling=self.is_falling, may_be_empty=self.column.may_be_empty)

    @property
    def heads(self) -> list[Head]:
        """Return the heads of the page's columns."""
        return [self._head(column) for column in self.columns if column.words]

    def _head(self, column: Column) -> Head:
        words = column.words
        if column.names_currency:
            words = f"{words} ({WorkshopProfile.current().currency})"
        if not column.is_sorted_by:
            return Head(words, column.css, "", "")
        if column is not self.column:
            return Head(words, column.css, self._address(column.key), "")
        way = "descending" if self.is_falling else "ascending"
        turned = column.key if self.is_falling else f"-{column.key}"
        return Head(words, column.css, self._address(turned), way)

    def _address(self, sort: str) -> str:
        query = self.query.copy()
        for name in NOT_KEPT:
            query.pop(name, None)
        query["sort"] = sort
        return f"?{query.urlencode()}"

    @property
    def file_query(self) -> str:
        """Return the query that asks the file for what the page shows."""
        query = self.query.copy()
        query.pop("before", None)
        return f"?{query.urlencode()}" if query else ""

    @property
    def choices(self) -> list[tuple[str, str]]:
        """Return each order as its value in the address and its words."""
        words = {column.key: str(column.words) for column in self.columns if column.is_sorted_by}
        choices = []
        for key, name in words.items():
            choices.append((key, _("%(column)s, rising") % {"column": name}))
            choices.append((f"-{key}", _("%(column)s, falling") % {"column": name}))
        return choices

    def page(self, records: QuerySet[Any], row: Callable[..., Any] | None = None) -> ListPage:
        """Return the page the address asks for; `row` makes the shown of record and role."""
        page = list_page(records, self.query.get("before", ""), key=self.key, order=self.order)
        if row is None:
            return page
        return ListPage([row(record, self.role) for record in page.rows], page.next_before)

    def all_of(
        self, records: QuerySet[Any], row: Callable[..., Any] | None = None
    ) -> Iterator[Any]:
        """Return every record in the order the address asks for, for a file."""
        records = sorted_by(records, self.order, key=self.key)
        for record in records.iterator(chunk_size=FILE_CHUNK):
            yield record if row is None else row(record, self.role)

    def rows_sorted(self, rows: list[Any]) -> list[Any]:
        """Return rows put together in Python in the order the address asks for."""
        if self.column is None or self.column.value is None:
            return rows
        value = self.column.value
        filled = [row for row in rows if value(row) is not None]
        empty = [row for row in rows if value(row) is None]
        return sorted(filled, key=value, reverse=self.is_falling) + empty

    def file(self, name: str, rows: Iterable[Any]) -> HttpResponseBase:
        """Return the rows as a table to be kept, named by the list and the day."""
        cells = [(column.key, column.cell) for column in self.columns if column.cell is not None]
        # The first rows are read before anything is sent: a fault among them is told as any other.
        # A longer list goes out while it is read, so that it shows as it comes and can be stopped.
        left = iter(rows)
        first = list(islice(left, FILE_CHUNK + 1))
        parts = table_parts(
            [key for key, _cell in cells],
            ([cell(row) for _key, cell in cells] for row in chain(first, left)),
        )
        answer: HttpResponseBase
        if len(first) > FILE_CHUNK:
            answer = StreamingHttpResponse(parts, content_type=TABLE)
        else:
            answer = HttpResponse(b"".join(parts), content_type=TABLE)
        day = timezone.localdate().isoformat()
        answer["Content-Disposition"] = f'attachment; filename="{name}-{day}.csv"'
        return answer
