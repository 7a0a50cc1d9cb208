"""The pairs of a job for stock as its page lists them: from which hide each, and what it costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from patterns.layout.ground import piece_areas_mm2
from workshop.selectors.stock_runs import RunWorked
from workshop.stock_layouts import pairs_laid

ZERO = Decimal(0)
CostLine = tuple[str, Decimal]  # what it is, and its amount


@dataclass(frozen=True, slots=True)
class PairRow:
    """One pair: its line, its pieces in mm² by hide, and its cost where money is seen."""

    position: int
    number: int
    letter: str
    what: str
    hides: tuple[tuple[str, float], ...]
    leather: Decimal | None = None
    supplies: Decimal | None = None
    labour: Decimal | None = None
    overhead: Decimal | None = None
    cost: Decimal | None = None
    lines: tuple[CostLine, ...] = ()


@dataclass(frozen=True, slots=True)
class PairTable:
    """All pairs with their sums; the sums are those of the rows as shown."""

    currency: str
    rows: tuple[PairRow, ...]

    @property
    def sums(self) -> dict[str, Decimal]:
        """Return what each column comes to."""
        names = ("leather", "supplies", "labour", "overhead", "cost")
        return {name: sum((getattr(row, name) for row in self.rows), ZERO) for name in names}


def table_of_plan(plan: Mapping[str, Any]) -> PairTable:
    """Return every pair of a plan with its cost."""
    rows = [_row(line, pair) for line in plan["lines"] for pair in line["pairs"]]
    return PairTable(str(plan["currency"]), tuple(rows))


def _row(line: Mapping[str, Any], pair: Mapping[str, Any]) -> PairRow:
    amounts = [(group, name, Decimal(amount)) for group, name, amount in pair["lines"]]
    # The leather stands first, a line for each hide the pair lies on.
    upper, others = amounts[: len(pair["hides"])], amounts[len(pair["hides"]) :]

    def of(group: str) -> Decimal:
        return sum((amount for found, _name, amount in others if found == group), ZERO)

    return PairRow(
        position=line["position"],
        number=pair["number"],
        letter=line["letter"],
        what=f"{line['style']['name']}, {line['size']}",
        hides=tuple(pair["hides"].items()),
        leather=sum((amount for _group, _name, amount in upper), ZERO),
        supplies=of("material"),
        labour=of("labour"),
        overhead=of("overhead"),
        cost=Decimal(pair["cost"]),
        lines=tuple((name, amount) for _group, name, amount in amounts),
    )


def rows_without_money(rows: Sequence[PairRow]) -> tuple[PairRow, ...]:
    """Return rows as they are shown to whoever sees no money."""
    return tuple(PairRow(row.position, row.number, row.letter, row.what, row.hides) for row in rows)


def rows_laid(worked: RunWorked) -> tuple[PairRow, ...]:
    """Return every pair that is laid out, without its cost."""
    lines = {row.line.position: row.line for row in worked.lines}
    rows = []
    for part in worked.parts:
        if part.request is None or part.layout is None:
            continue
        areas = piece_areas_mm2(part.request)
        for line in part.lines:
            record = lines[line.position]
            for number, pair in enumerate(pairs_laid(part.request, part.layout, line), 1):
                on_hides: dict[str, float] = {}
                for row in pair:
                    on_hides[row.container] = on_hides.get(row.container, 0.0) + areas[row.id]
                what = f"{record.style.style.name}, {record.foot.doll.name}"
                rows.append(
                    PairRow(line.position, number, record.letter, what, tuple(on_hides.items()))
                )
    return tuple(sorted(rows, key=lambda row: (row.position, row.number)))
