"""Direct labour: the steps of the work, and the minutes that a pair's pieces give them."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args
from unicodedata import category

from costing.errors import JobError
from costing.numbers import checked_number, exact_product
from costing.overhead import MINUTES_PER_HOUR, PERCENT

Per = Literal["order", "pair", "batch"]
Driver = Literal["order", "batch", "pair", "shoe", "piece", "eyelet", "mm_stitched", "mm_lasted"]
Way = Literal["", "hand stitch", "machine", "glue"]
LONGEST_NAME = 200
_PER: dict[Driver, Per] = {
    "order": "order",
    "batch": "batch",
    "pair": "pair",
    "shoe": "pair",
    "piece": "pair",
    "eyelet": "pair",
    "mm_stitched": "pair",
    "mm_lasted": "pair",
}
_NOT_ON_A_LINE = ("Cc", "Cs", "Zl", "Zp")  # control, half of a letter, line and paragraph ends


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step of the work and its minutes, for the order, the batch or for each pair.

    A passive step (drying, baking) needs nobody's hands: it is counted apart and costs nothing.
    A step for a batch (setting up) is shared by all pairs made together, of whatever order. Each
    further pair of an order, alike, takes ``less_again_percent`` less than the first.
    """

    name: str
    minutes: Decimal
    per: Per
    passive: bool = False
    less_again_percent: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.minutes, "minutes")
        if self.per not in get_args(Per):
            raise JobError('must be "order", "pair" or "batch"', field="per", code="per_unknown")
        if not isinstance(self.passive, bool):
            raise JobError("must be true or false", field="passive", code="not_true_or_false")
        checked_number(self.less_again_percent, "again_pct_less", most=Decimal(PERCENT))


@dataclass(frozen=True, slots=True)
class WorkStepRule:
    """A step of a rate card: minutes for each order, pair, shoe, piece, eyelet or mm of work.

    ``way`` names the one way of joining (hand stitch, machine, glue) that takes this step; empty
    for a step that every way takes.
    """

    name: str
    minutes: Decimal
    per: Driver
    passive: bool = False
    way: Way = ""
    less_again_percent: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.minutes, "minutes")
        if self.per not in get_args(Driver):
            raise JobError(
                "must be one of " + ", ".join(get_args(Driver)), field="per", code="driver_unknown"
            )
        checked_way(self.way)
        checked_number(self.less_again_percent, "again_pct_less", most=Decimal(PERCENT))


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


def checked_way(way: str) -> str:
    """Return a way of joining if it is a known one, or empty."""
    if way not in get_args(Way):
        raise JobError(
            "must be empty or one of " + ", ".join(filter(None, get_args(Way))),
            field="way",
            code="way_unknown",
        )
    return way


def steps_for(
    rules: Iterable[WorkStepRule], drivers: WorkDrivers, *, way: Way = ""
) -> tuple[WorkStep, ...]:
    """Return the steps of one order with their minutes, in the order of the rules.

    A step whose driver is zero (setting eyelets on a slip-on) is left out, and so is a step of
    another way of joining than ``way``.

    Examples
    --------
    >>> drivers = WorkDrivers(14, 24, Decimal("900"), Decimal("420"))
    >>> rule = WorkStepRule("setting eyelets", Decimal("1.5"), "eyelet")
    >>> [step.minutes for step in steps_for([rule], drivers)]
    [Decimal('36.0')]
    """
    counts: dict[Driver, Decimal] = {
        "order": Decimal(1),
        "batch": Decimal(1),
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
            per=_PER[rule.per],
            passive=rule.passive,
            less_again_percent=rule.less_again_percent,
        )
        for rule in rules
        if counts[rule.per] and rule.way in ("", checked_way(way))
    )


def step_minutes(step: WorkStep, pair_count: int, batch_pairs: int | None = None) -> Fraction:
    """Return the minutes of a step for the whole order, exactly.

    Parameters
    ----------
    step : WorkStep
    pair_count : int
        Pairs of the order, all alike.
    batch_pairs : int, optional
        Pairs made together in one batch, those of the order among them; the order alone if left
        out.

    Examples
    --------
    >>> sewing = WorkStep("sewing", Decimal(100), "pair", less_again_percent=Decimal(20))
    >>> step_minutes(sewing, 3)
    Fraction(260, 1)
    >>> step_minutes(WorkStep("setting up", Decimal(30), "batch"), 2, batch_pairs=6)
    Fraction(10, 1)
    """
    minutes = Fraction(step.minutes)
    if step.per == "batch":
        return minutes * pair_count / (batch_pairs or pair_count)
    if step.per == "order":
        return minutes
    again = 1 - Fraction(step.less_again_percent) / PERCENT
    return minutes * (1 + (pair_count - 1) * again)


def step_cost(
    step: WorkStep, pair_count: int, rate_per_hour: Decimal, batch_pairs: int | None = None
) -> Fraction:
    """Return what a step costs for the whole order; nothing if it is passive."""
    if step.passive:
        return Fraction(0)
    minutes = step_minutes(step, pair_count, batch_pairs)
    return minutes / MINUTES_PER_HOUR * Fraction(rate_per_hour)


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
