"""What an order takes of each supply, by the bill that was frozen with its quote."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Any

from costing.errors import CostError
from costing.units import unit_factor
from workshop.models import Commission, Hide, Quote, Supply
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.work_log import plans_for_stock, snapshot_parts
from workshop.supply_lines import UPPER, SuppliesNamed


@dataclass(frozen=True, slots=True)
class SupplyNeed:
    """A supply and what an order takes of it, in whole thousandths of its unit, rounded up."""

    supply: Supply
    thousandths: int


@dataclass(frozen=True, slots=True)
class SupplyNeeds:
    """What an order takes; ``unknown`` are names on its bill that no supply has today."""

    found: list[SupplyNeed]
    unknown: list[str]


def needs_of(quote: Quote) -> SupplyNeeds:
    """Return what a quote's order takes of each supply, waste included."""
    snapshot = snapshot_parts([quote.pk], "bill", "job")[quote.pk]
    return bill_needs(snapshot["bill"], int(snapshot["job"]["quantity"]))


def needs_of_job(commission: Commission) -> SupplyNeeds | None:
    """Return what a job takes by its accepted quote, or by the plan of a job for stock.

    None while neither is there.
    """
    if commission.is_for_stock:
        lines = plans_for_stock([commission.pk]).get(commission.pk)
        return None if lines is None else _together(lines)
    quote = Quote.objects.filter(commission=commission, state=Quote.State.ACCEPTED)
    accepted = quote.defer(*Quote.LARGE).first()
    return None if accepted is None else needs_of(accepted)


def hide_quoted(commission: Commission) -> Hide | None:
    """Return the hide a job's accepted quote was made on, where the job has no leather yet.

    Nothing is returned for a job that keeps a hide or has cut one, or was quoted on an offer.
    """
    accepted = Quote.objects.filter(commission=commission, state=Quote.State.ACCEPTED)
    hide_id = accepted.values_list("hide_id", flat=True).first()
    if hide_id is None or commission.hides_reserved.exists() or commission.cuttings.exists():
        return None
    return Hide.objects.select_related("lot", "reserved_for").get(pk=hide_id)


def _together(lines: Iterable[Mapping[str, Any]]) -> SupplyNeeds:
    found: dict[int, SupplyNeed] = {}
    unknown: list[str] = []
    for line in lines:
        needs = bill_needs(line["bill"], int(line["pair_count"]))
        unknown += needs.unknown
        for need in needs.found:
            known = found.get(need.supply.pk)
            more = known.thousandths if known is not None else 0
            found[need.supply.pk] = SupplyNeed(need.supply, need.thousandths + more)
    rows = sorted(found.values(), key=lambda n: (n.supply.kind, n.supply.name, n.supply.pk))
    return SupplyNeeds(rows, list(dict.fromkeys(unknown)))


def bill_needs(bill: list[Mapping[str, Any]], pair_count: int) -> SupplyNeeds:
    """Return what so many pairs take of each supply of a bill, in the order of the shelf."""
    rows = [line for line in bill if line["key"] != UPPER]
    names = Supply.objects.filter(name__in={str(line["name"]) for line in rows})
    # Of two with one name the usual one, else the newer, as on the job's page.
    supplies = SuppliesNamed(names.order_by("is_usual", "number"))
    exact: dict[Supply, Fraction] = {}
    unknown = []
    for line in rows:
        supply = supplies.of_line(line["key"], str(line["name"]))
        taken = None if supply is None else _taken(line, supply)
        if supply is None or taken is None:
            unknown.append(str(line["name"]))
            continue
        exact[supply] = exact.get(supply, Fraction(0)) + taken * pair_count
    found = [SupplyNeed(supply, ceil(need * THOUSANDTHS)) for supply, need in exact.items() if need]
    found.sort(key=lambda need: (need.supply.kind, need.supply.name, need.supply.pk))
    return SupplyNeeds(found, list(dict.fromkeys(unknown)))


def _taken(line: Mapping[str, Any], supply: Supply) -> Fraction | None:
    """Return what one pair takes in the supply's unit; None for a unit that does not turn into it.

    >>> supply = Supply(unit="m")
    >>> _taken({"quantity": "90", "waste_share": "0.1", "unit": "cm"}, supply)
    Fraction(1, 1)
    """
    taken = Fraction(line["quantity"]) / (1 - Fraction(line["waste_share"]))
    if line["unit"] in (supply.unit, str(supply.get_unit_display())):
        return taken
    try:
        return taken * unit_factor(str(line["unit"]), supply.unit)
    except CostError:
        return None
