"""What material a job for stock really took, parted among the styles it made."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from costing.money import to_minor_unit
from costing.stock_cost import share_out
from workshop.selectors.counting_back import UPPER

Lines = Iterable[Mapping[str, Any]]


def material_by_style(
    lines: Lines, booked: Mapping[str, Fraction], currency: str
) -> dict[str, Decimal]:
    """Return what the material of each style comes to; the parts add up to what was booked.

    What was booked of a line of the bill goes to the styles as they were planned to take it, by
    pairs where none was; where nothing was booked of a line, its plan stands in.

    Parameters
    ----------
    lines : iterable of mapping
        The planned lines as a job for stock keeps them.
    booked : mapping
        Exact cost by the name of the bill's line, or of a supply no line names.
    currency : str
        ISO 4217 code.
    """
    lines = list(lines)
    pairs, planned = _pairs(lines), _planned(lines)
    found = {style: to_minor_unit(Decimal(0), currency) for style in pairs}
    for name in {**planned, **booked}:
        of_name = planned.get(name, {})
        if name not in booked:
            for style, amount in of_name.items():
                found[style] += amount
            continue
        weights = [of_name.get(style, Decimal(0)) for style in pairs]
        amount = to_minor_unit(booked[name], currency)
        parts = share_out(amount, weights if any(weights) else list(pairs.values()), currency)
        for style, part in zip(pairs, parts, strict=True):
            found[style] += part
    return found


def upper_names(lines: Lines) -> frozenset[str]:
    """Return the names the leather of the uppers has on the bills: one for each leather."""
    return frozenset(
        str(row["name"]) for line in lines for row in line["bill"] if row["key"] == UPPER
    )


def _pairs(lines: Lines) -> dict[str, Decimal]:
    pairs: dict[str, Decimal] = {}
    for line in lines:
        style = line["style"]["name"]
        pairs[style] = pairs.get(style, Decimal(0)) + line["pair_count"]
    return pairs


def _planned(lines: list[Mapping[str, Any]]) -> dict[str, dict[str, Decimal]]:
    """Return the planned cost of each line of the bills by style; all uppers are one line."""
    uppers = upper_names(lines)
    planned: dict[str, dict[str, Decimal]] = {}
    for line in lines:
        style = line["style"]["name"]
        for pair in line["pairs"]:
            for group, name, amount in pair["lines"]:
                if group == "material":
                    of_name = planned.setdefault(UPPER if name in uppers else name, {})
                    of_name[style] = of_name.get(style, Decimal(0)) + Decimal(amount)
    return planned
