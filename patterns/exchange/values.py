"""Reading single values out of a file's document, each fault named by its dotted place."""

from collections.abc import Callable, Mapping, Sequence
from math import isfinite
from typing import TypeGuard

from patterns.errors import PatternError
from patterns.geometry.curves import Point

LARGEST_MM = 10_000.0  # no length in any of our files comes near ten metres

Fault = Callable[..., PatternError]


def number(value: object, where: str, fault: Fault, *, most: float = LARGEST_MM) -> float:
    """Return a finite number, or raise what `fault` makes, naming the place."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise fault(f"{where} must be a number, not {_shown(value)}.", field=where,
                    code="not-a-number")  # fmt: skip
    if not isfinite(value) or abs(value) > most:
        raise fault(f"{where} is {value}; it must be a finite number within {most:g}.",
                    field=where, code="number-range")  # fmt: skip
    return float(value)


def positive(value: object, where: str, fault: Fault, *, most: float = LARGEST_MM) -> float:
    """Return a finite number of zero or more."""
    result = number(value, where, fault, most=most)
    if result < 0:
        raise fault(f"{where} is {result:g}; it cannot be negative.", field=where,
                    code="number-negative")  # fmt: skip
    return result


def text(value: object, where: str, fault: Fault, *, most: int = 200) -> str:
    """Return a text that is not too long."""
    if not isinstance(value, str) or len(value) > most:
        raise fault(f"{where} must be a text of at most {most} letters.", field=where,
                    code="not-a-text")  # fmt: skip
    return value


def mapping(value: object, where: str, fault: Fault) -> Mapping[str, object]:
    """Return an object with text keys."""
    if not isinstance(value, Mapping):
        raise fault(f"{where} must be an object of names and values.", field=where,
                    code="not-an-object")  # fmt: skip
    return value


def array(value: object, where: str, fault: Fault, *, most: int = 5000) -> Sequence[object]:
    """Return a list that is not too long."""
    if not isinstance(value, list | tuple):
        raise fault(f"{where} must be a list.", field=where, code="not-a-list")
    if len(value) > most:
        raise fault(f"{where} has {len(value)} entries; {most} are the most.", field=where,
                    code="list-long")  # fmt: skip
    return value


def points(value: object, where: str, fault: Fault, *, most: int = 5000) -> tuple[Point, ...]:
    """Return a run of points, each a pair of finite numbers."""
    run = array(value, where, fault, most=most)
    sound = [pair for pair in run if _is_sound_point(pair)]
    if len(sound) == len(run):  # thousands in a file: only a fault needs its place
        return tuple((x, y) for x, y in sound)
    found = []
    for index, pair in enumerate(run):
        here = f"{where}.{index}"
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise fault(f"{here} must be a pair of numbers.", field=here, code="not-a-point")
        found.append((number(pair[0], here, fault), number(pair[1], here, fault)))
    return tuple(found)


def _is_sound_point(pair: object) -> TypeGuard[list[float]]:
    """Return whether a point is a pair of numbers with a point, finite and near enough."""
    if type(pair) is not list or len(pair) != 2:
        return False
    x, y = pair
    return (
        type(x) is type(y) is float
        and -LARGEST_MM <= x <= LARGEST_MM
        and -LARGEST_MM <= y <= LARGEST_MM
    )


def choice(value: object, where: str, fault: Fault, allowed: Sequence[str]) -> str:
    """Return one of the allowed words."""
    if value not in allowed:
        words = ", ".join(allowed)
        raise fault(f"{where} is {_shown(value)}; it must be one of {words}.", field=where,
                    code="not-a-choice")  # fmt: skip
    return str(value)


def _shown(value: object) -> str:
    shown = repr(value)
    return shown if len(shown) <= 40 else shown[:37] + "..."
