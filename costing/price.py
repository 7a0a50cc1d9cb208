"""From cost to price and from price to profit, in exact fractions.

The order of the steps, and of rounding, is fixed: lines, cost, price without tax, price a pair
rounded up, tax, fees, profit. Decimals are made only for the amounts shown.
"""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import get_args

from costing.breakdown import (
    Breakdown,
    ExtraCode,
    FeeLine,
    JobCost,
    Total,
    TotalCode,
    cost_of,
)
from costing.errors import JobError, PriceError
from costing.how import How
from costing.job import Job
from costing.money import minor_unit, round_half_up, to_minor_unit
from costing.numbers import checked_number, typed
from costing.overhead import PERCENT
from costing.price_words import price_how, total_hows
from costing.settle import (
    as_is,
    fee_bases,
    fee_share_of_net,
    fixed_fees,
    money_words,
    postage_gap,
    rounded_amount,
    rounded_price,
    said_price,
    settle,
    share_of,
    up_to_step,
)

_SHOWN_PERCENT_DIGITS = 2
_SHOWN_MINUTE_DIGITS = 2
_MOST_FLOOR_TRIES = 1_000  # passed only where fees keep nearly all of the price


def price_job(job: Job, *, cost: JobCost | None = None) -> Breakdown:
    """Return the price of a job and everything it is made of.

    Parameters
    ----------
    job : Job
    cost : JobCost, optional
        The job's cost as `cost_of` gives it, where it is worked out already.

    Raises
    ------
    PriceError
        Fee, tax and profit together leave nothing of the price to pay the cost with.

    Notes
    -----
    Fees are taken from the price, so they are grossed up: with cost C, fixed fees f, fee rate r,
    tax t and profit m as a part of the price, the price without tax N solves
    N (1 - r (1 + t) - m) = C + f; with profit on cost, N (1 - r (1 + t)) = C (1 + m) + f; without
    (1 + t) where fees are on the price without tax. Several fees add up, each with its own base.

    Postage is passed on without profit: what it costs beyond what is charged joins f, what is
    charged beyond its cost stays as profit. The rush extra comes on top of the price so found.
    """
    cost = cost_of(job) if cost is None else cost
    net = _net_price(job, cost.making_cost)
    asked = said_price(job, net) / job.pair_count
    per_pair = rounded_price(job, asked)
    return _breakdown(job, cost, per_pair, price_how(job, cost, net, asked, per_pair))


def price_for_profit(job: Job, profit: Decimal) -> Breakdown:
    """Return the least price, rounded up as the job's prices are, that earns a sum of money.

    The profit asked in the job, its least price and rounding to the nearest take no part.

    Parameters
    ----------
    job : Job
        The job as it stands.
    profit : Decimal
        What is to be earned with the whole order; below zero for a loss that is accepted.

    Raises
    ------
    JobError
        The profit is not finite, too large or finer than the minor unit; ``field`` is
        ``"profit_wanted"``.
    PriceError
        Fees and tax leave nothing of the price.
    """
    if not isinstance(profit, Decimal) or not profit.is_finite():
        raise JobError("must be a finite number", field="profit_wanted", code="number_not_finite")
    checked_number(profit.copy_abs(), "profit_wanted")
    _check_whole_units(job, profit, "profit_wanted")
    cost = cost_of(job)
    step = Fraction(job.round_up_to)
    per_pair = _least_price_earning(
        job, cost.cost, Fraction(profit), step, Fraction(job.rounding.ending), try_below=True
    )
    words = {"profit": typed(profit), "step": typed(job.round_up_to)}
    how = How("price_for_profit", words | {"amount": money_words(job, per_pair)})
    return _breakdown(job, cost, per_pair, how)


def exact_profit(job: Job, price_per_pair: Fraction) -> Fraction:
    """Return what a price a pair earns before tax and fees are rounded; the cost is as shown."""
    return settle(job, cost_of(job).cost, price_per_pair, as_is)["profit"]


def exact_price(job: Job, profit: Fraction) -> Fraction:
    """Return the price a pair that earns a profit, the inverse of `exact_profit`.

    It may lie below zero, where rush extra or postage alone earn more than is asked.

    Raises
    ------
    PriceError
        Fees and tax leave nothing of the price.
    """
    return _exact_price(job, cost_of(job).cost, profit)


def _exact_price(job: Job, cost: Fraction, profit: Fraction) -> Fraction:
    # Before rounding, profit is a straight line over the price: two points of it say all.
    at_nothing = settle(job, cost, Fraction(0), as_is)["profit"]
    slope = settle(job, cost, Fraction(1), as_is)["profit"] - at_nothing
    if slope <= 0:
        raise _nothing_left(job)
    return (profit - at_nothing) / slope


def profit_at_price(job: Job, price_per_pair: Decimal, *, cost: JobCost | None = None) -> Breakdown:
    """Return what a price typed by hand earns; the profit asked in the job takes no part.

    Parameters
    ----------
    job : Job
        The job as it stands.
    price_per_pair : Decimal
        With tax where the job says tax is included, else without; a multiple of the minor unit.
    cost : JobCost, optional
        The job's cost as `cost_of` gives it, where it is worked out already.

    Raises
    ------
    JobError
        The price is negative, too large or finer than the minor unit; ``field`` is
        ``"price_per_pair"``.
    """
    checked_number(price_per_pair, "price_per_pair")
    _check_whole_units(job, price_per_pair, "price_per_pair")
    how = How("price_typed", {"amount": money_words(job, Fraction(price_per_pair))})
    cost = cost_of(job) if cost is None else cost
    return _breakdown(job, cost, Fraction(price_per_pair), how)


def _check_whole_units(job: Job, amount: Decimal, field: str) -> None:
    if Fraction(amount) % minor_unit(job.currency):
        raise JobError(
            f"{amount:f} is finer than the smallest amount of {job.currency}",
            field=field,
            code="not_a_multiple",
            currency=job.currency,
        )


def floor_price(job: Job) -> Decimal:
    """Return the price a pair at which the order just pays for itself, to the minor unit.

    It is said as the job's prices are, with tax or without. Tax and fees are rounded as in any
    price; where that would leave a loss of one minor unit, the floor goes up to make it good.

    Raises
    ------
    PriceError
        Fees and tax leave nothing of the price to pay the cost with.
    """
    unit = minor_unit(job.currency)
    floor = _least_price_earning(job, cost_of(job).cost, Fraction(0), unit, Fraction(0))
    return to_minor_unit(floor, job.currency)


def _least_price_earning(
    job: Job,
    cost: Fraction,
    profit: Fraction,
    step: Fraction,
    ending: Fraction,
    *,
    try_below: bool = False,
) -> Fraction:
    """Return the least of the prices k x step + ending that earns a profit as shown.

    ``try_below`` begins where rounding might just reach the profit, else where the exact does.
    """
    doubt = _rounding_doubt(job)
    start = _exact_price(job, cost, profit - doubt if try_below else profit)
    least = up_to_step(start, step, ending)
    safe = up_to_step(_exact_price(job, cost, profit + doubt), step, ending)
    tries = min(ceil((safe - least) / step), _MOST_FLOOR_TRIES)
    return next(
        (
            least + place * step
            for place in range(tries)
            if settle(job, cost, least + place * step)["profit"] >= profit
        ),
        safe,
    )


def _rounding_doubt(job: Job) -> Fraction:
    """Return how much the rounding of tax, fees, rush and postage may move a profit at most."""
    roundings = 1 + len(job.all_fees)
    roundings += bool(job.rush.percent) + 2 * bool(job.postage.charged)
    # Half a unit each; what is rounded first is a base of fees, which adds less than as much again.
    plain = roundings == 2
    return minor_unit(job.currency) * (Fraction(1) if plain else Fraction(roundings))


def profit_of_price_from_on_cost(on_cost: Fraction) -> Fraction:
    """Return profit as a part of the price for a profit given on cost, both as shares.

    >>> profit_of_price_from_on_cost(Fraction(1, 4))
    Fraction(1, 5)
    """
    return on_cost / (1 + on_cost)


def profit_on_cost_from_of_price(of_price: Fraction) -> Fraction:
    """Return profit on cost for a profit given as a part of the price (below 1), as shares.

    >>> profit_on_cost_from_of_price(Fraction(1, 5))
    Fraction(1, 4)
    """
    if of_price >= 1:
        raise PriceError(
            "profit must be less than the whole price", field="profit.pct", code="profit_too_large"
        )
    return of_price / (1 - of_price)


def _net_price(job: Job, making_cost: Fraction) -> Fraction:
    profit = share_of(job.profit.percent)
    part_of_price = profit if job.profit.kind == "margin" else Fraction(0)
    on_cost = profit if job.profit.kind == "markup" else Fraction(0)
    left = 1 - fee_share_of_net(job) - part_of_price
    if left <= 0:
        raise _nothing_left(job)
    return (making_cost * (1 + on_cost) + fixed_fees(job) + postage_gap(job)) / left


def _nothing_left(job: Job) -> PriceError:
    profit_words = "of the price" if job.profit.kind == "margin" else "on cost"
    fees = " + ".join(
        f"{fee.percent:f} % of the price {'with' if fee.on == 'price_with_tax' else 'without'} tax"
        for fee in job.all_fees
    )
    return PriceError(
        f"fee {fees}, tax {job.tax.percent:f} % and profit"
        f" {job.profit.percent:f} % {profit_words} leave nothing to pay the cost with; lower one of"
        " them",
        field="profit.pct" if job.profit.kind == "margin" else "fees.pct",
        code="nothing_left",
        fee=job.fees.percent,
        fee_base=job.fees.on,
        tax=job.tax.percent,
        profit=job.profit.percent,
        profit_kind=job.profit.kind,
    )


def _breakdown(job: Job, cost: JobCost, per_pair: Fraction, price_how: How) -> Breakdown:
    amounts: dict[TotalCode | ExtraCode, Fraction] = {
        "cost": cost.cost,
        "cost_per_pair": rounded_amount(job, cost.cost / job.pair_count),
        **settle(job, cost.cost, per_pair),
    }
    fee_lines = _fee_lines(job, amounts)
    hows = total_hows(job, amounts, fee_lines) | {"price_per_pair": price_how}
    money = {code: to_minor_unit(amount, job.currency) for code, amount in amounts.items()}
    return Breakdown(
        currency=job.currency,
        pair_count=job.pair_count,
        lines=cost.lines,
        totals=tuple(
            Total(code, amount, hows[code])
            for code, amount in money.items()
            if amount or code not in get_args(ExtraCode)
        ),
        cost=money["cost"],
        cost_per_pair=money["cost_per_pair"],
        price_per_pair=money["price_per_pair"],
        price=money["price"],
        price_without_tax=money["price_without_tax"],
        tax=money["tax"],
        fees=money["fees"],
        profit=money["profit"],
        profit_percent_of_price=_percent_of(amounts["profit"], amounts["price_without_tax"]),
        profit_percent_of_cost=_percent_of(amounts["profit"], amounts["cost"]),
        active_min=round_half_up(cost.active_min, _SHOWN_MINUTE_DIGITS),
        passive_min=round_half_up(cost.passive_min, _SHOWN_MINUTE_DIGITS),
        rush=money["rush"],
        postage=money["postage"],
        fee_lines=fee_lines,
    )


def _fee_lines(job: Job, amounts: Mapping[TotalCode | ExtraCode, Fraction]) -> tuple[FeeLine, ...]:
    bases = fee_bases(
        job,
        amounts["price"],
        amounts["price_without_tax"],
        lambda amount: rounded_amount(job, amount),
    )
    return tuple(
        FeeLine(
            fee.name,
            to_minor_unit(share_of(fee.percent) * base + fee.fixed_in_all, job.currency),
        )
        for fee, base in zip(job.all_fees, bases, strict=True)
    )


def _percent_of(part: Fraction, whole: Fraction) -> Decimal | None:
    return round_half_up(part / whole * PERCENT, _SHOWN_PERCENT_DIGITS) if whole else None
