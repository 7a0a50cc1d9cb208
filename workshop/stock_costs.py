"""What each pair of a job for stock costs: leather of the very hides it is cut from, and its work.

A line is priced as an order of its pairs; each amount of it is then parted among the pairs to the
minor unit. So the pairs' shown lines add up to the line's, and the lines' to the whole.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from costing.bill import AREA_DM2_PLACES, bill_of_materials, work_drivers
from costing.bill_line import BillLine, materials_from_bill
from costing.breakdown import Breakdown
from costing.how import How
from costing.job import Job
from costing.money import round_half_up
from costing.numbers import shown
from costing.overhead import PERCENT
from costing.price import price_job
from costing.stock_cost import share_out
from costing.terms import LeatherTerms, WasteShare
from patterns.pieces.piece import PieceSet
from patterns.units import mm2_to_dm2
from workshop import bridge
from workshop.bridge_sale import SaleChoice, job_from_rates, way_of
from workshop.models import RateCard, Supply
from workshop.services.quoting import WASTE_PLACES
from workshop.stock_priced import bills_at_stock_cost
from workshop.supply_lines import UPPER


@dataclass(frozen=True, slots=True)
class LeatherOnHide:
    """The leather of a line on one hide: its terms, its waste, and each pair's pieces in mm²."""

    code: str
    terms: LeatherTerms
    waste_share: float
    area_mm2: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PairCost:
    """One pair of a line: the lines of its cost, which add up, and its pieces by hide in mm²."""

    lines: tuple[tuple[str, str, Decimal], ...]  # group, name, amount
    area_mm2: Mapping[str, float]

    @property
    def cost(self) -> Decimal:
        """Return what the pair costs, the sum of its lines as shown."""
        return sum((amount for _group, _name, amount in self.lines), Decimal(0))


@dataclass(frozen=True, slots=True)
class LineCost:
    """A line with its bill and its job as an order of so many pairs, and each of its pairs."""

    bill: tuple[BillLine, ...]
    job: Job
    breakdown: Breakdown
    pairs: tuple[PairCost, ...]
    leather: Mapping[str, Decimal]  # what of each hide it costs, by the hide's code


@dataclass(frozen=True, slots=True)
class LineToPrice:
    """The pieces of one pair of a line, the hides it is cut from, and how many pairs."""

    pieces: PieceSet
    leather: Sequence[LeatherOnHide]
    pair_count: int


def line_costs(
    lines: Sequence[LineToPrice],
    *,
    rates: RateCard,
    supplies: Mapping[str, Supply],
    currency: str,
) -> list[LineCost]:
    """Return what each line of a job costs, pair by pair.

    Setting up, and the steps of an order, are done once for the pairs of all lines; and a supply
    costs all of them alike, what the goods on the shelf cost that they take together.

    Parameters
    ----------
    lines : sequence of LineToPrice
        All that is made together.
    rates, supplies, currency
        As for any job.

    Raises
    ------
    CostError
        A material is not chosen, or fees, tax and profit leave nothing.
    """
    sale = SaleChoice(batch_pairs=sum(line.pair_count for line in lines))
    others = [(_supplies_of(line, rates, supplies, sale), line.pair_count) for line in lines]
    supplied = bills_at_stock_cost(others, supplies)
    return [
        _line_cost(line, bill, rates=rates, sale=sale, currency=currency)
        for line, bill in zip(lines, supplied, strict=True)
    ]


def _supplies_of(
    line: LineToPrice, rates: RateCard, supplies: Mapping[str, Supply], sale: SaleChoice
) -> list[BillLine]:
    """Return the bill of one pair without its leather."""
    most = max(line.leather, key=lambda part: sum(part.area_mm2))
    terms = bridge.bill_terms(
        upper=most.terms,
        waste=_waste(most.waste_share),
        supplies=supplies,
        rates=rates,
        values=line.pieces.parameters,
        is_glued=way_of(line.pieces.parameters, sale) == "glue",
    )
    return [row for row in bill_of_materials((line.pieces,), terms) if row.key != UPPER]


def _line_cost(
    line: LineToPrice,
    supplied: Sequence[BillLine],
    *,
    rates: RateCard,
    sale: SaleChoice,
    currency: str,
) -> LineCost:
    leather, pair_count = line.leather, line.pair_count
    bill = (*(_upper(part, pair_count) for part in leather), *supplied)
    job = job_from_rates(
        rates=rates,
        currency=currency,
        pair_count=pair_count,
        materials=materials_from_bill(bill),
        drivers=work_drivers((line.pieces,)),
        way=way_of(line.pieces.parameters, sale),
        sale=sale,
    )
    # What is done once for an order is done once for all that is made together here.
    steps = tuple(replace(step, per="batch") if step.per == "order" else step for step in job.steps)
    job = replace(job, steps=steps)
    breakdown = price_job(job)
    uppers = breakdown.lines[: len(leather)]
    return LineCost(
        bill=bill,
        job=job,
        breakdown=breakdown,
        pairs=_parted(breakdown, leather, pair_count, currency),
        leather={part.code: row.amount for part, row in zip(leather, uppers, strict=True)},
    )


def _waste(share: float) -> WasteShare:
    return WasteShare(round_half_up(Decimal(repr(share)), WASTE_PLACES), measured=True)


def _upper(part: LeatherOnHide, pair_count: int) -> BillLine:
    """Return the line of a hide on the bill: what a pair takes of it on the average."""
    area_dm2 = Fraction(mm2_to_dm2(sum(part.area_mm2))) / pair_count
    quantity = round_half_up(area_dm2, AREA_DM2_PLACES)
    waste = _waste(part.waste_share)
    return BillLine(
        key=UPPER,
        name=part.terms.name,
        quantity=quantity,
        unit="dm2",
        unit_cost=part.terms.cost_per_dm2,
        waste_share=waste.share,
        how_parts=How(
            "bill_area_on_hide",
            {
                "pairs": str(pair_count),
                "quantity": shown(quantity),
                "waste": shown(waste.share * PERCENT),
            },
        ),
    )


def _parted(
    breakdown: Breakdown, leather: Sequence[LeatherOnHide], pair_count: int, currency: str
) -> tuple[PairCost, ...]:
    """Return each pair's share of every line: of a hide by its pieces' area, else alike."""
    pairs: list[list[tuple[str, str, Decimal]]] = [[] for _pair in range(pair_count)]
    for number, line in enumerate(breakdown.lines):
        weights = leather[number].area_mm2 if number < len(leather) else (1,) * pair_count
        for pair, share, weight in zip(
            pairs, share_out(line.amount, weights, currency), weights, strict=True
        ):
            if weight:
                pair.append((line.group, line.name, share))
    return tuple(
        PairCost(
            tuple(lines),
            {part.code: part.area_mm2[k] for part in leather if part.area_mm2[k]},
        )
        for k, lines in enumerate(pairs)
    )
