"""Values of files read strictly, each fault under the name of its field."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal
from typing import Any, TypeVar

from costing.errors import CostError, JobError
from costing.numbers import MOST_FIGURES

_DECIMAL_TEXT = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]{1,3})?")
_LONGEST_NUMBER_TEXT = MOST_FIGURES + 12  # room for a sign, a point and an exponent
_FAR_OUTSIDE = 10**20
Value = TypeVar("Value")


def decimal_from(value: object, field: str) -> Decimal:
    """Return a number from decimal text, a Decimal or a whole number.

    Raises
    ------
    JobError
        The value is of another kind (a bool is no number), or is not written as a decimal.
    """
    if isinstance(value, Decimal):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        # Beyond this the exact figure no longer matters: it is over every limit.
        return Decimal(max(-_FAR_OUTSIDE, min(value, _FAR_OUTSIDE)))
    if not isinstance(value, str):
        raise JobError(
            f'must be a number written as text, such as "2.50", not {_kind(value)}',
            field=field,
            code="number_kind",
            kind=_kind(value),
        )
    if len(value) > _LONGEST_NUMBER_TEXT:
        raise JobError(
            f"has too many figures; write at most {MOST_FIGURES}",
            field=field,
            code="number_too_long",
            most=MOST_FIGURES,
        )
    if not _DECIMAL_TEXT.fullmatch(value):
        raise JobError(
            f"{value!r} is not a number; write digits with a point, such as 2.50",
            field=field,
            code="not_a_number",
            value=value,
        )
    return Decimal(value)


@contextmanager
def within(place: str) -> Iterator[None]:
    """Put the field of any fault found inside under the name of the place."""
    try:
        yield
    except CostError as fault:
        raise fault.under(place) from None


def needed(entry: Mapping[str, Any], key: str) -> Any:
    """Return the value of a key that must be there."""
    if key not in entry:
        raise JobError("is missing", field=key, code="missing")
    return entry[key]


def object_at(entry: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    """Return the object that a key must hold."""
    if key not in entry:
        raise JobError("is missing", code="missing")
    return as_object(entry[key])


def as_object(value: object) -> Mapping[str, Any]:
    """Return a value that must be an object with named values."""
    if not isinstance(value, Mapping):
        raise JobError(
            f"must be an object with named values, not {_kind(value)}", code="not_an_object"
        )
    return value


def list_at(
    entry: Mapping[str, Any], key: str, read: Callable[[Mapping[str, Any]], Value]
) -> tuple[Value, ...]:
    """Return a list that a key must hold, each entry read."""
    values = needed(entry, key)
    if not isinstance(values, Sequence) or isinstance(values, str):
        raise JobError(f"must be a list, not {_kind(values)}", field=key, code="not_a_list")
    read_values = []
    for place, value in enumerate(values):
        with within(f"{key}[{place}]"):
            read_values.append(read(as_object(value)))
    return tuple(read_values)


def text_at(entry: Mapping[str, Any], key: str) -> str:
    """Return the text that a key must hold."""
    value = needed(entry, key)
    if not isinstance(value, str):
        raise JobError(f"must be text, not {_kind(value)}", field=key, code="not_text")
    return value


def truth_at(entry: Mapping[str, Any], key: str) -> bool:
    """Return the true or false that a key must hold."""
    value = needed(entry, key)
    if not isinstance(value, bool):
        raise JobError(
            f"must be true or false, not {_kind(value)}", field=key, code="not_true_or_false"
        )
    return value


def number_at(entry: Mapping[str, Any], key: str) -> Decimal:
    """Return the number that a key must hold."""
    return decimal_from(needed(entry, key), key)


def number_or(entry: Mapping[str, Any], key: str, left_out: Decimal) -> Decimal:
    """Return the number of a key, another where it is left out."""
    return number_at(entry, key) if key in entry else left_out


def truth_or(entry: Mapping[str, Any], key: str, left_out: bool) -> bool:
    """Return the true or false of a key, another where it is left out."""
    return truth_at(entry, key) if key in entry else left_out


def amount_at(entry: Mapping[str, Any], key: str) -> Decimal:
    """Return an amount of either sign; a loss is a negative profit."""
    value = number_at(entry, key)
    if not value.is_finite():
        raise JobError("must be a finite number", field=key, code="number_not_finite")
    return value


def amount_or_none(entry: Mapping[str, Any], key: str) -> Decimal | None:
    """Return an amount of either sign, None for null."""
    return None if needed(entry, key) is None else amount_at(entry, key)


def whole_number_at(entry: Mapping[str, Any], key: str) -> int:
    """Return the whole number that a key must hold."""
    value = number_at(entry, key)
    # A value this far outside has no whole number worth keeping; 0 is refused by the job.
    sound = value.is_finite() and abs(value.adjusted()) <= MOST_FIGURES
    if not sound or value != value.to_integral_value():
        raise JobError("must be a whole number, 1 or more", field=key, code="pair_count_range")
    return int(value)


def refuse_unknown(entry: Mapping[str, Any], known: tuple[str, ...]) -> None:
    """Refuse keys that are not among those known, as misspelt ones."""
    for key in entry:
        if key not in known:
            raise JobError(
                "is not a value of a job; the values here are " + ", ".join(known),
                field=str(key)[:40],
                code="unknown_key",
            )


def _kind(value: object) -> str:
    names: tuple[tuple[type, str], ...] = (
        (bool, "true or false"),
        (type(None), "null"),
        (float, "a binary number"),
        (str, "text"),
        (Mapping, "an object"),
        (Sequence, "a list"),
    )
    return next((name for kind, name in names if isinstance(value, kind)), "another kind of value")
