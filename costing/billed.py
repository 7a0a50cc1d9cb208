"""The lines of a bill: what was agreed, parted so that its tax adds up, and what is taken back."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from costing.breakdown import Breakdown
from costing.errors import JobError
from costing.job import Job
from costing.money import minor_unit, to_minor_unit
from costing.settle import share_of
from costing.stock_cost import share_out

LineKey = Literal["goods", "rush", "postage", "change"]


@dataclass(frozen=True, slots=True)
class BilledLine:
    """One line of a bill: the amount with tax, the tax in it, and the tax's percentage.

    An amount below zero lowers the bill, as a reduction or what a credit note takes back does.
    """

    key: LineKey
    amount: Decimal
    tax: Decimal
    tax_percent: Decimal

    @property
    def net(self) -> Decimal:
        """Return the amount without its tax."""
        return self.amount - self.tax


@dataclass(frozen=True, slots=True)
class TaxLine:
    """All lines of one percentage of tax together."""

    percent: Decimal
    net: Decimal
    tax: Decimal

    @property
    def amount(self) -> Decimal:
        """Return the sum with its tax."""
        return self.net + self.tax


@dataclass(frozen=True, slots=True)
class BillTotals:
    """The sums of a bill's lines, by percentage of tax and in all."""

    net: Decimal
    tax: Decimal
    amount: Decimal
    tax_lines: tuple[TaxLine, ...]


def agreed_lines(job: Job, agreed: Breakdown) -> tuple[BilledLine, ...]:
    """Return the lines of a price that was agreed: goods, rush extra, postage.

    Their amounts add up to the price that was agreed, and their taxes to its tax, both exactly.
    The tax was rounded once, for all that is taxed; it is parted by the amounts it was taken of.
    """
    percent = job.tax.percent
    whole = agreed.price if job.tax.included else agreed.price_without_tax
    said: list[tuple[LineKey, Decimal]] = [("goods", whole - agreed.rush - agreed.postage)]
    said += [(key, sum_) for key, sum_ in _extras(agreed) if sum_]
    is_taxed = [key != "postage" or job.tax.on_postage for key, _sum in said]
    weights = [
        sum_ if taxed else Decimal(0) for (_key, sum_), taxed in zip(said, is_taxed, strict=True)
    ]
    taxes = (
        share_out(agreed.tax, weights, agreed.currency)
        if any(weights)
        else (to_minor_unit(Decimal(0), agreed.currency),) * len(said)
    )
    return tuple(
        BilledLine(
            key,
            to_minor_unit(sum_ if job.tax.included else sum_ + tax, agreed.currency),
            tax,
            percent if taxed else Decimal(0),
        )
        for (key, sum_), taxed, tax in zip(said, is_taxed, taxes, strict=True)
    )


def _extras(agreed: Breakdown) -> tuple[tuple[LineKey, Decimal], ...]:
    return (("rush", agreed.rush), ("postage", agreed.postage))


def changed_line(job: Job, amount: Decimal) -> BilledLine:
    """Return a line added to what was agreed, its amount with tax, taxed as the goods are.

    Raises
    ------
    JobError
        The amount is finer than the currency's smallest one; ``field`` is ``"amount"``.
    """
    if not amount.is_finite() or Fraction(amount) % minor_unit(job.currency):
        raise JobError(
            f"{amount:f} is finer than the smallest amount of {job.currency}",
            field="amount",
            code="not_a_multiple",
            currency=job.currency,
        )
    rate = share_of(job.tax.percent)
    tax = to_minor_unit(Fraction(amount) * rate / (1 + rate), job.currency)
    return BilledLine("change", to_minor_unit(amount, job.currency), tax, job.tax.percent)


def taken_back(line: BilledLine, left: BilledLine, amount: Decimal, currency: str) -> BilledLine:
    """Return what a credit note takes back of a line, as amounts above zero for a line above zero.

    Parameters
    ----------
    line, left : BilledLine
        The line as billed, and what earlier credit notes have left of it.
    amount : Decimal
        What is taken back, with tax; not more than is left.

    Raises
    ------
    JobError
        More than is left, of the other sign, or finer than the smallest amount.

    Notes
    -----
    What is kept of the line keeps its tax in proportion, rounded once: parts that take a line back
    whole take its very tax back, however many they are.
    """
    low, high = min(left.amount, Decimal(0)), max(left.amount, Decimal(0))
    if not amount.is_finite() or not low <= amount <= high:
        raise JobError(
            f"{amount:f} is not between {low:f} and {high:f}, what is left of the line",
            field="amount",
            code="more_than_left",
            left=f"{left.amount:f}",
        )
    if Fraction(amount) % minor_unit(currency):
        raise JobError(
            f"{amount:f} is finer than the smallest amount of {currency}",
            field="amount",
            code="not_a_multiple",
            currency=currency,
        )
    if not amount:
        return BilledLine(
            line.key, to_minor_unit(amount, currency), left.tax - left.tax, line.tax_percent
        )
    kept_share = Fraction(left.amount - amount) / Fraction(line.amount)
    tax = left.tax - to_minor_unit(Fraction(line.tax) * kept_share, currency)
    return BilledLine(line.key, to_minor_unit(amount, currency), tax, line.tax_percent)


def bill_totals(lines: Iterable[BilledLine], currency: str) -> BillTotals:
    """Return the sums of lines; net and tax add up to the amount, by percentage and in all."""
    zero = to_minor_unit(Decimal(0), currency)
    sums: dict[Decimal, tuple[Decimal, Decimal]] = {}
    for line in lines:
        net, tax = sums.get(line.tax_percent, (zero, zero))
        sums[line.tax_percent] = (net + line.net, tax + line.tax)
    rows = tuple(TaxLine(percent, *sums[percent]) for percent in sorted(sums, reverse=True))
    net = sum((row.net for row in rows), zero)
    tax = sum((row.tax for row in rows), zero)
    return BillTotals(net, tax, net + tax, rows)
