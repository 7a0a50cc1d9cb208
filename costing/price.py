"""From cost to price and from price to profit, in exact fractions.

The order of the steps, and of rounding, is fixed: lines, cost, price without tax, price a pair
rounded up, tax, fees, profit. Decimals are made only for the amounts shown.
"""

from decimal import Decimal
from fractions import Fraction
from math import ceil

from costing.breakdown import Breakdown, JobCost, Total, TotalCode, cost_of
from costing.errors import JobError, PriceError
from costing.how import How, pair_word
from costing.job import Job
from costing.money import minor_unit, round_half_up, to_minor_unit
from costing.numbers import checked_number, shown, trimmed, typed
from costing.overhead import PERCENT

_SHOWN_PERCENT_DIGITS = 2
_SHOWN_MINUTE_DIGITS = 2
_MOST_FLOOR_TRIES = 1_000  # passed only where fees keep nearly all of the price


def price_job(job: Job) -> Breakdown:
    """Return the price of a job and everything it is made of.

    Raises
    ------
    PriceError
        Fee, tax and profit together leave nothing of the price to pay the cost with.

    Notes
    -----
    Fees are taken from the price, so they are grossed up: with cost C, fixed fee f, fee rate r,
    tax t and profit m as a part of the price, the price without tax N solves
    N (1 - r (1 + t) - m) = C + f; with profit on cost, N (1 - r (1 + t)) = C (1 + m) + f; without
    (1 + t) where fees are on the price without tax.
    """
    cost = cost_of(job)
    net = _net_price(job, cost.cost, job.profit.kind, _share(job.profit.percent))
    asked = _said_price(job, net) / job.pair_count
    per_pair = _up_to_multiple(asked, Fraction(job.round_up_to))
    return _breakdown(job, cost, per_pair, _price_how(job, cost, net, asked, per_pair))


def profit_at_price(job: Job, price_per_pair: Decimal) -> Breakdown:
    """Return what a price typed by hand earns; the profit asked in the job takes no part.

    Parameters
    ----------
    job : Job
        The job as it stands.
    price_per_pair : Decimal
        With tax where the job says tax is included, else without; a multiple of the minor unit.

    Raises
    ------
    JobError
        The price is negative, too large or finer than the minor unit; ``field`` is
        ``"price_per_pair"``.
    """
    checked_number(price_per_pair, "price_per_pair")
    if Fraction(price_per_pair) % minor_unit(job.currency):
        raise JobError(
            f"{price_per_pair:f} is finer than the smallest amount of {job.currency}",
            field="price_per_pair",
            code="not_a_multiple",
            currency=job.currency,
        )
    how = How("price_typed", {"amount": _money(job, Fraction(price_per_pair))})
    return _breakdown(job, cost_of(job), Fraction(price_per_pair), how)


def floor_price(job: Job) -> Decimal:
    """Return the price a pair at which the order just pays for itself, to the minor unit.

    It is said as the job's prices are, with tax or without. Tax and fees are rounded as in any
    price; where that would leave a loss of one minor unit, the floor goes up to make it good.

    Raises
    ------
    PriceError
        Fees and tax leave nothing of the price to pay the cost with.
    """
    cost = cost_of(job).cost
    unit = minor_unit(job.currency)
    least = _break_even(job, cost)
    # Tax and fees are each rounded by half a unit at most, so one unit more always covers both.
    safe = _break_even(job, cost + unit)
    tries = min(ceil((safe - least) / unit), _MOST_FLOOR_TRIES)
    floor = next(
        (
            least + place * unit
            for place in range(tries)
            if _settle(job, cost, least + place * unit)["profit"] >= 0
        ),
        safe,
    )
    return to_minor_unit(floor, job.currency)


def _break_even(job: Job, cost: Fraction) -> Fraction:
    """Return the price a pair that pays a cost before any rounding of tax and fees."""
    net = _net_price(job, cost, "markup", Fraction(0))
    return _up_to_multiple(_said_price(job, net) / job.pair_count, minor_unit(job.currency))


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


def _share(percent: Decimal) -> Fraction:
    return Fraction(percent) / PERCENT


def _fee_share_of_net(job: Job) -> Fraction:
    tax_factor = 1 + _share(job.tax.percent) if job.fees.on == "price_with_tax" else Fraction(1)
    return _share(job.fees.percent) * tax_factor


def _net_price(job: Job, cost: Fraction, kind: str, profit: Fraction) -> Fraction:
    part_of_price = profit if kind == "margin" else Fraction(0)
    on_cost = profit if kind == "markup" else Fraction(0)
    left = 1 - _fee_share_of_net(job) - part_of_price
    if left <= 0:
        raise _nothing_left(job)
    return (cost * (1 + on_cost) + Fraction(job.fees.fixed)) / left


def _nothing_left(job: Job) -> PriceError:
    profit_words = "of the price" if job.profit.kind == "margin" else "on cost"
    tax_words = "with tax" if job.fees.on == "price_with_tax" else "without tax"
    return PriceError(
        f"fee {job.fees.percent:f} % of the price {tax_words}, tax {job.tax.percent:f} % and profit"
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


def _said_price(job: Job, net: Fraction) -> Fraction:
    return net * (1 + _share(job.tax.percent)) if job.tax.included else net


def _up_to_multiple(amount: Fraction, step: Fraction) -> Fraction:
    return ceil(amount / step) * step


def _settle(job: Job, cost: Fraction, per_pair: Fraction) -> dict[TotalCode, Fraction]:
    """Return price, tax, fees and profit for a price a pair, each as it is shown."""
    rate = _share(job.tax.percent)
    said = per_pair * job.pair_count
    if job.tax.included:
        tax = _rounded(job, said * rate / (1 + rate))
        price, net = said, said - tax
    else:
        tax = _rounded(job, said * rate)
        price, net = said + tax, said
    base = price if job.fees.on == "price_with_tax" else net
    fees = _rounded(job, _share(job.fees.percent) * base + Fraction(job.fees.fixed))
    return {
        "price_per_pair": per_pair,
        "price": price,
        "price_without_tax": net,
        "tax": tax,
        "fees": fees,
        "profit": price - tax - fees - cost,
    }


def _rounded(job: Job, amount: Fraction) -> Fraction:
    return Fraction(to_minor_unit(amount, job.currency))


def _money(job: Job, amount: Fraction) -> str:
    return typed(to_minor_unit(amount, job.currency))


def _breakdown(job: Job, cost: JobCost, per_pair: Fraction, price_how: How) -> Breakdown:
    amounts: dict[TotalCode, Fraction] = {
        "cost": cost.cost,
        "cost_per_pair": _rounded(job, cost.cost / job.pair_count),
        **_settle(job, cost.cost, per_pair),
    }
    hows = _total_hows(job, amounts) | {"price_per_pair": price_how}
    money = {code: to_minor_unit(amount, job.currency) for code, amount in amounts.items()}
    return Breakdown(
        currency=job.currency,
        pair_count=job.pair_count,
        lines=cost.lines,
        totals=tuple(Total(code, amount, hows[code]) for code, amount in money.items()),
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
    )


def _percent_of(part: Fraction, whole: Fraction) -> Decimal | None:
    return round_half_up(part / whole * PERCENT, _SHOWN_PERCENT_DIGITS) if whole else None


def _price_how(job: Job, cost: JobCost, net: Fraction, asked: Fraction, per_pair: Fraction) -> How:
    code = "price_from_price_profit" if job.profit.kind == "margin" else "price_from_cost_profit"
    return How(
        code,
        {
            "cost": _money(job, cost.cost),
            "fixed": typed(job.fees.fixed),
            "cost_and_fee": shown(cost.cost + Fraction(job.fees.fixed)),
            "fee_share": shown(_fee_share_of_net(job) * PERCENT),
            "profit": trimmed(job.profit.percent),
            "net": shown(net),
            "asked": shown(asked),
            "step": typed(job.round_up_to),
            "amount": _money(job, per_pair),
        },
    )


def _total_hows(job: Job, amounts: dict[TotalCode, Fraction]) -> dict[TotalCode, How]:
    words = {code: _money(job, amount) for code, amount in amounts.items()}
    way = "included" if job.tax.included else "added"
    with_tax = job.fees.on == "price_with_tax"
    common = {
        "cost": words["cost"],
        "per_pair": words["price_per_pair"],
        "price": words["price"],
        "net": words["price_without_tax"],
        "tax": words["tax"],
        "fees": words["fees"],
        "pairs": str(job.pair_count),
        "pair_word": pair_word(job.pair_count),
    }
    fee_numbers = {
        "percent": trimmed(job.fees.percent),
        "fixed": typed(job.fees.fixed),
        "base": words["price" if with_tax else "price_without_tax"],
    }
    codes: dict[TotalCode, tuple[str, dict[str, str]]] = {
        "cost": ("cost", {}),
        "cost_per_pair": ("cost_per_pair", {}),
        "price": (f"price_{way}", {}),
        "price_without_tax": (f"net_{way}", {}),
        "tax": (f"tax_{way}", {"percent": trimmed(job.tax.percent)}),
        "fees": ("fees_with_tax" if with_tax else "fees_without_tax", fee_numbers),
        "profit": ("profit", {}),
    }
    return {
        code: How(sentence, common | extra | {"amount": words[code]})
        for code, (sentence, extra) in codes.items()
    }
