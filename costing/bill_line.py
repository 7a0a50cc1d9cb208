"""The lines of a bill of materials, and the materials of a job that they make."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from costing.how import How
from costing.job import MaterialUse
from costing.numbers import exact_product
from costing.overhead import PERCENT

BillKey = Literal[
    "upper",
    "lining",
    "sole",
    "clay",
    "card",
    "thread",
    "lace",
    "lace_left",
    "lace_right",
    "eyelets",
    "hooks",
    "glue",
    "box",
]


@dataclass(frozen=True, slots=True)
class BillLine:
    """What one pair takes of one material.

    Parameters
    ----------
    key : str
        Fixed name of the line.
    name, unit : str
        The material, and what ``quantity`` counts.
    quantity : Decimal
        Net quantity for one pair.
    unit_cost : Decimal
        Money for one unit.
    waste_share : Decimal
        Wasted share of what is taken: taken = net / (1 - waste).
    how_parts : How
        How the quantity came about.
    estimated : bool
        Whether the waste was typed beforehand, not measured on a layout.
    to_buy : Decimal or None
        Quantity to buy where it is sold only in whole steps.
    cost_parts : How or None
        How the cost of a unit came about, where it is not simply a price.
    """

    key: BillKey
    name: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal
    waste_share: Decimal
    how_parts: How
    estimated: bool = False
    to_buy: Decimal | None = None
    cost_parts: How | None = None

    @property
    def hows(self) -> tuple[str, ...]:
        """Return the English sentences of `all_how_parts`."""
        return tuple(how.text for how in self.all_how_parts)

    @property
    def all_how_parts(self) -> tuple[How, ...]:
        """Return how the quantity came about, and the cost of a unit where that is told."""
        return (self.how_parts,) if self.cost_parts is None else (self.how_parts, self.cost_parts)

    @property
    def how(self) -> str:
        """Return the English sentence of how the quantity came about."""
        return self.how_parts.text


def materials_from_bill(lines: Iterable[BillLine]) -> tuple[MaterialUse, ...]:
    """Return the bill's lines as the materials of a job."""
    return tuple(
        MaterialUse(
            name=line.name,
            quantity=line.quantity,
            unit=line.unit,
            unit_cost=line.unit_cost,
            waste_percent=exact_product(line.waste_share, Decimal(PERCENT)),
        )
        for line in lines
    )
