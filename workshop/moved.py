"""What the latest change on a job's page did: what is other, what that moves the price by, why."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.forms import BoundField
from django.utils.translation import gettext as _

from workshop.forms.orders import TYPED_IN, ChoiceForm
from workshop.services.quoting import Worked

MOST_LINES = 3


@dataclass(frozen=True, slots=True)
class Change:
    """One choice that is other than before, in words."""

    what: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class LineMoved:
    """A line of the price, and by how much it went up or down."""

    name: str
    by: Decimal

    @property
    def words(self) -> str:
        """Return the line with a sign before its amount."""
        return f"{self.name} {signed(self.by)}"


@dataclass(frozen=True, slots=True)
class Moved:
    """The latest change; ``difference`` is None where there was, or is, no price.

    ``back`` is the query of the choice as it was. Lines are those that moved most.
    """

    changes: tuple[Change, ...]
    back: str
    difference: Decimal | None = None
    currency: str = ""
    lines: tuple[LineMoved, ...] = ()

    @property
    def amount(self) -> str:
        """Return the difference of the price with its sign."""
        return f"{signed(self.difference or Decimal(0))} {self.currency}"


def signed(amount: Decimal) -> str:
    """Return an amount with its sign, as it is typeset."""
    return f"+{amount}" if amount > 0 else f"−{abs(amount)}" if amount < 0 else f"{amount}"


def choice_moved(
    before: tuple[ChoiceForm, Worked | None], now: tuple[ChoiceForm, Worked | None], *, back: str
) -> Moved | None:
    """Return what is other than before; None where nothing is."""
    changes = tuple(_changes(before[0], now[0]))
    if not changes:
        return None
    was, worked = before[1], now[1]
    if was is None or worked is None or was.breakdown is None or worked.breakdown is None:
        return Moved(changes, back)
    if was.breakdown.currency != worked.breakdown.currency:
        return Moved(changes, back)
    return Moved(
        changes,
        back,
        worked.breakdown.price - was.breakdown.price,
        worked.breakdown.currency,
        tuple(_lines_moved(was, worked)),
    )


def _changes(before: ChoiceForm, now: ChoiceForm) -> Iterator[Change]:
    for name in now.fields:
        if name not in before.fields or name == TYPED_IN:
            continue
        then, here = before[name], now[name]
        if _typed(then) != _typed(here):
            yield Change(str(here.label), _words(then), _words(here))


def _typed(field: BoundField) -> str:
    value = field.value()
    return "" if value in (None, False) else str(value)


def _words(field: BoundField) -> str:
    """Return a choice as people see it."""
    typed = _typed(field)
    if not typed:
        return _("left open")
    if typed == "True":
        return _("yes")
    for value, label in _flat(getattr(field.field, "choices", ())):
        if str(value) == typed:
            return str(label)
    return typed


def _flat(choices: object) -> Iterator[tuple[object, object]]:
    """Yield choices one by one, those under a heading too."""
    for value, label in choices:  # type: ignore[attr-defined]
        if isinstance(label, list | tuple):
            yield from _flat(label)
        else:
            yield value, label


def _lines_moved(before: Worked, now: Worked) -> list[LineMoved]:
    """Return the lines that moved most, largest first, in the order of the price where alike."""
    then, here = _lines(before), _lines(now)
    names = {**then, **here}
    moved = [
        LineMoved(
            names[key][0],
            here.get(key, ("", Decimal(0)))[1] - then.get(key, ("", Decimal(0)))[1],
        )
        for key in names
    ]
    moved.sort(key=lambda line: -abs(line.by))
    return [line for line in moved[:MOST_LINES] if line.by]


def _lines(worked: Worked) -> dict[str, tuple[str, Decimal]]:
    """Return names and amounts of all that a price is parted into, by what each is for."""
    assert worked.breakdown is not None
    keys = iter(line.key for line in worked.bill)
    found: dict[str, tuple[str, Decimal]] = {}
    for line in worked.breakdown.lines:
        # The material lines stand in the order of the bill; other leather has another name.
        key = f"material {next(keys)}" if line.group == "material" else line.name
        while key in found:
            key += "+"
        found[key] = (line.name, line.amount)
    parts = worked.breakdown
    found["sum fees"] = (_("fees"), parts.fees)
    found["sum profit"] = (_("profit"), parts.profit)
    found["sum tax"] = (_("tax"), parts.tax)
    return found
