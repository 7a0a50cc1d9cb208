"""Direct labour: the steps of the work, and the minutes that a pair's pieces give them."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args
from unicodedata import category

from costing.errors import JobError
from costing.numbers import checked_number, exact_product
from costing.overhead import MINUTES_PER_HOUR

Per = Literal["order", "pair"]
Driver = Literal["order", "pair", "shoe", "piece", "eyelet", "mm_stitched", "mm_lasted"]
LONGEST_NAME = 200
_NOT_ON_A_LINE = ("Cc", "Cs", "Zl", "Zp")  # control, half of a letter, line and paragraph ends


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step of the work and its minutes, for the order or for each pair.

    A passive step (drying, baking) needs nobody's hands: it is counted apart and costs nothing.
    """

    name: str
    minutes: Decimal
    per: Per
    passive: bool = False

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.minutes, "minutes")
        if self.per not in get_args(Per):
            raise JobError('must be "order" or "pair"', field="per", code="per_unknown")
        if not isinstance(self.passive, bool):
            raise JobError("must be true or false", field="passive", code="not_true_or_false")


@dataclass(frozen=True, slots=True)
class WorkStepRule:
    """A step of a rate card: minutes for each order, pair, shoe, piece, eyelet or mm of work."""

    name: str
    minutes: Decimal
    per: Driver
    passive: bool = False

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.minutes, "minutes")
        if self.per not in get_args(Driver):
            raise JobError(
                "must be one of " + ", ".join(get_args(Driver)), field="per", code="driver_unknown"
            )


@dataclass(frozen=True, slots=True)
class WorkDrivers:
    """How much there is to do for one pair.

    Parameters
    ----------
    pieces : int
        Pieces to cut, every copy counted.
    eyelets : int
        Eyelets to set.
    stitched_mm, lasted_mm : Decimal
        Length of the stitch lines, and of the edges drawn over the last.
    shoes : int
        Shoes in a pair.
    """

    pieces: int
    eyelets: int
    stitched_mm: Decimal
    lasted_mm: Decimal
    shoes: int = 2


def steps_for(rules: Iterable[WorkStepRule], drivers: WorkDrivers) -> tuple[WorkStep, ...]:
    """Return the steps of one order with their minutes, in the order of the rules.

    A step whose driver is zero (setting eyelets on a slip-on) is left out.

    Examples
    --------
    >>> drivers = WorkDrivers(14, 24, Decimal("900"), Decimal("420"))
    >>> rule = WorkStepRule("setting eyelets", Decimal("1.5"), "eyelet")
    >>> [step.minutes for step in steps_for([rule], drivers)]
    [Decimal('36.0')]
    """
    counts: dict[Driver, Decimal] = {
        "order": Decimal(1),
        "pair": Decimal(1),
        "shoe": Decimal(drivers.shoes),
        "piece": Decimal(drivers.pieces),
        "eyelet": Decimal(drivers.eyelets),
        "mm_stitched": drivers.stitched_mm,
        "mm_lasted": drivers.lasted_mm,
    }
    return tuple(
        WorkStep(
            name=rule.name,
            minutes=exact_product(rule.minutes, counts[rule.per]),
            per="order" if rule.per == "order" else "pair",
            passive=rule.passive,
        )
        for rule in rules
        if counts[rule.per]
    )


def step_minutes(step: WorkStep, pair_count: int) -> Fraction:
    """Return the minutes of a step for the whole order."""
    return Fraction(step.minutes) * (pair_count if step.per == "pair" else 1)


def step_cost(step: WorkStep, pair_count: int, rate_per_hour: Decimal) -> Fraction:
    """Return what a step costs for the whole order; nothing if it is passive."""
    if step.passive:
        return Fraction(0)
    return step_minutes(step, pair_count) / MINUTES_PER_HOUR * Fraction(rate_per_hour)


def checked_name(name: str, field: str = "name") -> str:
    """Return a name if it is a line of text that is neither empty nor overlong."""
    if not isinstance(name, str) or not name.strip():
        raise JobError("must be a name, not empty", field=field, code="name_empty")
    return checked_text(name, field)


def checked_text(text: str, field: str) -> str:
    """Return a text if it is one line of at most 200 characters."""
    if not isinstance(text, str):
        raise JobError("must be text", field=field, code="not_text")
    if len(text) > LONGEST_NAME:
        raise JobError(
            f"is {len(text)} characters long; at most {LONGEST_NAME}",
            field=field,
            code="text_too_long",
            most=LONGEST_NAME,
        )
    if any(category(character) in _NOT_ON_A_LINE for character in text):
        raise JobError(
            "must be one line without control characters", field=field, code="text_unprintable"
        )
    return text
