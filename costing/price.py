"""From cost to price and from price to profit, in exact fractions.

The order of the steps, and of rounding, is fixed: lines, cost, price without tax, price a pair
rounded up, tax, fees, profit. Decimals are made only for the amounts shown.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
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
from costing.how import How, pair_word
from costing.job import Fees, Job, Rounding
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
    Fees are taken from the price, so they are grossed up: with cost C, fixed fees f, fee rate r,
    tax t and profit m as a part of the price, the price without tax N solves
    N (1 - r (1 + t) - m) = C + f; with profit on cost, N (1 - r (1 + t)) = C (1 + m) + f; without
    (1 + t) where fees are on the price without tax. Several fees add up, each with its own base.

    Postage is passed on without profit: what it costs beyond what is charged joins f, what is
    charged beyond its cost stays as profit. The rush extra comes on top of the price so found.
    """
    cost = cost_of(job)
    net = _net_price(job, cost.making_cost)
    asked = _said_price(job, net) / job.pair_count
    per_pair = _rounded_price(job, asked)
    return _breakdown(job, cost, per_pair, _price_how(job, cost, net, asked, per_pair))


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
    how = How("price_for_profit", words | {"amount": _money(job, per_pair)})
    return _breakdown(job, cost, per_pair, how)


def exact_profit(job: Job, price_per_pair: Fraction) -> Fraction:
    """Return what a price a pair earns before tax and fees are rounded; the cost is as shown."""
    return _settle(job, cost_of(job).cost, price_per_pair, _as_is)["profit"]


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
    at_nothing = _settle(job, cost, Fraction(0), _as_is)["profit"]
    slope = _settle(job, cost, Fraction(1), _as_is)["profit"] - at_nothing
    if slope <= 0:
        raise _nothing_left(job)
    return (profit - at_nothing) / slope


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
    _check_whole_units(job, price_per_pair, "price_per_pair")
    how = How("price_typed", {"amount": _money(job, Fraction(price_per_pair))})
    return _breakdown(job, cost_of(job), Fraction(price_per_pair), how)


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
    least = _up_to_step(start, step, ending)
    safe = _up_to_step(_exact_price(job, cost, profit + doubt), step, ending)
    tries = min(ceil((safe - least) / step), _MOST_FLOOR_TRIES)
    return next(
        (
            least + place * step
            for place in range(tries)
            if _settle(job, cost, least + place * step)["profit"] >= profit
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


def _share(percent: Decimal) -> Fraction:
    return Fraction(percent) / PERCENT


def _as_is(amount: Fraction) -> Fraction:
    return amount


def _fee_share_of_net(job: Job) -> Fraction:
    return sum((_share(fee.percent) * _tax_factor(job, fee) for fee in job.all_fees), Fraction(0))


def _tax_factor(job: Job, fee: Fees) -> Fraction:
    return 1 + _share(job.tax.percent) if fee.on == "price_with_tax" else Fraction(1)


def _fixed_fees(job: Job) -> Fraction:
    return sum((fee.fixed_in_all for fee in job.all_fees), Fraction(0))


def _net_price(job: Job, making_cost: Fraction) -> Fraction:
    profit = _share(job.profit.percent)
    part_of_price = profit if job.profit.kind == "margin" else Fraction(0)
    on_cost = profit if job.profit.kind == "markup" else Fraction(0)
    left = 1 - _fee_share_of_net(job) - part_of_price
    if left <= 0:
        raise _nothing_left(job)
    return (making_cost * (1 + on_cost) + _fixed_fees(job) + _postage_gap(job)) / left


def _postage_gap(job: Job) -> Fraction:
    """Return what postage costs, its fees among it, beyond what is charged for it; 0 or more."""
    rate = _share(job.tax.percent) if job.tax.on_postage else Fraction(0)
    net = Fraction(job.postage.charged)
    if job.tax.included:
        net /= 1 + rate
    fees = sum(
        (
            _share(fee.percent) * net * (1 + rate if fee.on == "price_with_tax" else 1)
            for fee in job.all_fees
            if fee.on_postage
        ),
        Fraction(0),
    )
    return max(Fraction(0), job.postage.cost + fees - net)


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


def _said_price(job: Job, net: Fraction) -> Fraction:
    return net * (1 + _share(job.tax.percent)) if job.tax.included else net


def _up_to_step(amount: Fraction, step: Fraction, ending: Fraction) -> Fraction:
    return max(0, ceil((amount - ending) / step)) * step + ending


def _rounded_price(job: Job, asked: Fraction) -> Fraction:
    """Return the price of a pair on the job's steps, never below the job's least price."""
    step, ending = Fraction(job.round_up_to), Fraction(job.rounding.ending)
    if job.rounding.way == "nearest":
        price = max(0, floor((asked - ending) / step + Fraction(1, 2))) * step + ending
    else:
        price = _up_to_step(asked, step, ending)
    if price < job.least_price:
        price = _up_to_step(Fraction(job.least_price), step, ending)
    return price


def _settle(
    job: Job,
    cost: Fraction,
    per_pair: Fraction,
    rounded: Callable[[Fraction], Fraction] | None = None,
) -> dict[TotalCode | ExtraCode, Fraction]:
    """Return price, tax, fees and profit for a price a pair, each as it is shown.

    ``rounded`` takes the place of rounding to the minor unit.
    """
    rounded = rounded or (lambda amount: _rounded(job, amount))
    rate = _share(job.tax.percent)
    goods = per_pair * job.pair_count
    rush = rounded(goods * _share(job.rush.percent) + Fraction(job.rush.fixed))
    postage = Fraction(job.postage.charged)
    said = goods + rush + postage
    taxed = said if job.tax.on_postage else said - postage
    if job.tax.included:
        tax = rounded(taxed * rate / (1 + rate))
        price, net = said, said - tax
    else:
        tax = rounded(taxed * rate)
        price, net = said + tax, said
    fees = sum(
        (
            rounded(_share(fee.percent) * base + fee.fixed_in_all)
            for fee, base in zip(job.all_fees, _fee_bases(job, price, net, rounded), strict=True)
        ),
        Fraction(0),
    )
    return {
        "price_per_pair": per_pair,
        "rush": rush,
        "postage": postage,
        "price": price,
        "price_without_tax": net,
        "tax": tax,
        "fees": fees,
        "profit": price - tax - fees - cost,
    }


def _fee_bases(
    job: Job, price: Fraction, net: Fraction, rounded: Callable[[Fraction], Fraction]
) -> list[Fraction]:
    """Return what each fee is taken of, by price and price without tax, postage in or out."""
    rate = _share(job.tax.percent) if job.tax.on_postage else Fraction(0)
    postage = Fraction(job.postage.charged)
    if job.tax.included:
        with_tax, without_tax = postage, postage - rounded(postage * rate / (1 + rate))
    else:
        with_tax, without_tax = postage + rounded(postage * rate), postage
    bases = []
    for fee in job.all_fees:
        whole, of_postage = (price, with_tax) if fee.on == "price_with_tax" else (net, without_tax)
        bases.append(whole if fee.on_postage else whole - of_postage)
    return bases


def _rounded(job: Job, amount: Fraction) -> Fraction:
    return Fraction(to_minor_unit(amount, job.currency))


def _money(job: Job, amount: Fraction) -> str:
    return typed(to_minor_unit(amount, job.currency))


def _breakdown(job: Job, cost: JobCost, per_pair: Fraction, price_how: How) -> Breakdown:
    amounts: dict[TotalCode | ExtraCode, Fraction] = {
        "cost": cost.cost,
        "cost_per_pair": _rounded(job, cost.cost / job.pair_count),
        **_settle(job, cost.cost, per_pair),
    }
    fee_lines = _fee_lines(job, amounts)
    hows = _total_hows(job, amounts, fee_lines) | {"price_per_pair": price_how}
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
    bases = _fee_bases(
        job, amounts["price"], amounts["price_without_tax"], lambda amount: _rounded(job, amount)
    )
    return tuple(
        FeeLine(
            fee.name,
            to_minor_unit(_share(fee.percent) * base + fee.fixed_in_all, job.currency),
        )
        for fee, base in zip(job.all_fees, bases, strict=True)
    )


def _percent_of(part: Fraction, whole: Fraction) -> Decimal | None:
    return round_half_up(part / whole * PERCENT, _SHOWN_PERCENT_DIGITS) if whole else None


def _price_how(job: Job, cost: JobCost, net: Fraction, asked: Fraction, per_pair: Fraction) -> How:
    code = "price_from_price_profit" if job.profit.kind == "margin" else "price_from_cost_profit"
    if asked < per_pair and per_pair - Fraction(job.round_up_to) < job.least_price:
        code += "_least" if asked < job.least_price else ""
    elif job.rounding != Rounding():
        code += "_rounded"
    fixed, gap = _fixed_fees(job), _postage_gap(job)
    return How(
        code,
        {
            "cost": _money(job, cost.making_cost),
            "fixed": shown(fixed + gap) if gap or job.more_fees else _fixed_words(job),
            "cost_and_fee": shown(cost.making_cost + fixed + gap),
            "fee_share": shown(_fee_share_of_net(job) * PERCENT),
            "profit": trimmed(job.profit.percent),
            "net": shown(net),
            "asked": shown(asked),
            "step": typed(job.round_up_to),
            "ending": typed(job.rounding.ending),
            "least": typed(job.least_price),
            "amount": _money(job, per_pair),
        },
    )


def _fixed_words(job: Job) -> str:
    fee = job.fees
    return typed(fee.fixed) if fee.payments == 1 else f"{fee.payments} x {typed(fee.fixed)}"


def _total_hows(
    job: Job,
    amounts: Mapping[TotalCode | ExtraCode, Fraction],
    fee_lines: tuple[FeeLine, ...],
) -> dict[TotalCode | ExtraCode, How]:
    words = {code: _money(job, amount) for code, amount in amounts.items()}
    way = "included" if job.tax.included else "added"
    with_tax = job.fees.on == "price_with_tax"
    goods = amounts["price_per_pair"] * job.pair_count
    said = goods + amounts["rush"] + amounts["postage"]
    common = {
        "cost": words["cost"],
        "per_pair": words["price_per_pair"],
        "price": words["price"],
        "net": words["price_without_tax"],
        "tax": words["tax"],
        "fees": words["fees"],
        "rush": words["rush"],
        "postage": words["postage"],
        "said": _money(job, goods),
        "pairs": str(job.pair_count),
        "pair_word": pair_word(job.pair_count),
    }
    has_extras = said != goods
    untaxed_postage = bool(amounts["postage"]) and not job.tax.on_postage
    base = _fee_bases(
        job, amounts["price"], amounts["price_without_tax"], lambda amount: _rounded(job, amount)
    )[0]
    fee_numbers = {
        "percent": trimmed(job.fees.percent),
        "fixed": _fixed_words(job),
        "base": _money(job, base),
        "parts": " + ".join(f"{line.name} {typed(line.amount)}".strip() for line in fee_lines),
    }
    taxed = said - amounts["postage"] if untaxed_postage else said
    tax_numbers = {"percent": trimmed(job.tax.percent), "taxed": _money(job, taxed)}
    tax_code = f"tax_part_{way}" if untaxed_postage else f"tax_{way}"
    codes: dict[TotalCode | ExtraCode, tuple[str, dict[str, str]]] = {
        "cost": ("cost", {}),
        "cost_per_pair": ("cost_per_pair", {}),
        "price": (
            "price_extras_included" if has_extras and job.tax.included else f"price_{way}",
            {},
        ),
        "price_without_tax": (
            "net_extras_added" if has_extras and not job.tax.included else f"net_{way}",
            {},
        ),
        "tax": (tax_code if job.tax.registered else "tax_none", tax_numbers),
        "fees": (
            "fees_several"
            if len(fee_lines) > 1
            else ("fees_with_tax" if with_tax else "fees_without_tax"),
            fee_numbers,
        ),
        "profit": ("profit", {}),
        "rush": (
            "rush",
            {"percent": trimmed(job.rush.percent), "fixed": typed(job.rush.fixed)},
        ),
        "postage": ("postage", {}),
    }
    return {
        code: How(sentence, common | extra | {"amount": words[code]})
        for code, (sentence, extra) in codes.items()
    }
