"""A price settled: what tax, fees and profit it comes to, and the steps prices are rounded to."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from costing.breakdown import ExtraCode, TotalCode
from costing.job import Fees, Job
from costing.money import to_minor_unit
from costing.numbers import typed
from costing.overhead import PERCENT


def share_of(percent: Decimal) -> Fraction:
    """Return a percentage as a share."""
    return Fraction(percent) / PERCENT


def as_is(amount: Fraction) -> Fraction:
    """Return an amount as it is, in place of rounding it."""
    return amount


def fee_share_of_net(job: Job) -> Fraction:
    """Return the part of the price without tax that all fees together take."""
    return sum((share_of(fee.percent) * _tax_factor(job, fee) for fee in job.all_fees), Fraction(0))


def _tax_factor(job: Job, fee: Fees) -> Fraction:
    return 1 + share_of(job.tax.percent) if fee.on == "price_with_tax" else Fraction(1)


def fixed_fees(job: Job) -> Fraction:
    """Return the fixed parts of all fees together."""
    return sum((fee.fixed_in_all for fee in job.all_fees), Fraction(0))


def postage_gap(job: Job) -> Fraction:
    """Return what postage costs, its fees among it, beyond what is charged for it; 0 or more."""
    rate = share_of(job.tax.percent) if job.tax.on_postage else Fraction(0)
    net = Fraction(job.postage.charged)
    if job.tax.included:
        net /= 1 + rate
    fees = sum(
        (
            share_of(fee.percent) * net * (1 + rate if fee.on == "price_with_tax" else 1)
            for fee in job.all_fees
            if fee.on_postage
        ),
        Fraction(0),
    )
    return max(Fraction(0), job.postage.cost + fees - net)


def said_price(job: Job, net: Fraction) -> Fraction:
    """Return a price without tax as the job's prices are said."""
    return net * (1 + share_of(job.tax.percent)) if job.tax.included else net


def up_to_step(amount: Fraction, step: Fraction, ending: Fraction) -> Fraction:
    """Return the next of the prices k x step + ending, k from 0 on."""
    return max(0, ceil((amount - ending) / step)) * step + ending


def rounded_price(job: Job, asked: Fraction) -> Fraction:
    """Return the price of a pair on the job's steps, never below the job's least price."""
    step, ending = Fraction(job.round_up_to), Fraction(job.rounding.ending)
    if job.rounding.way == "nearest":
        price = max(0, floor((asked - ending) / step + Fraction(1, 2))) * step + ending
    else:
        price = up_to_step(asked, step, ending)
    if price < job.least_price:
        price = up_to_step(Fraction(job.least_price), step, ending)
    return price


def settle(
    job: Job,
    cost: Fraction,
    per_pair: Fraction,
    rounded: Callable[[Fraction], Fraction] | None = None,
) -> dict[TotalCode | ExtraCode, Fraction]:
    """Return price, tax, fees and profit for a price a pair, each as it is shown.

    ``rounded`` takes the place of rounding to the minor unit.
    """
    rounded = rounded or (lambda amount: rounded_amount(job, amount))
    rate = share_of(job.tax.percent)
    goods = per_pair * job.pair_count
    rush = rounded(goods * share_of(job.rush.percent) + Fraction(job.rush.fixed))
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
            rounded(share_of(fee.percent) * base + fee.fixed_in_all)
            for fee, base in zip(job.all_fees, fee_bases(job, price, net, rounded), strict=True)
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


def fee_bases(
    job: Job, price: Fraction, net: Fraction, rounded: Callable[[Fraction], Fraction]
) -> list[Fraction]:
    """Return what each fee is taken of, by price and price without tax, postage in or out."""
    rate = share_of(job.tax.percent) if job.tax.on_postage else Fraction(0)
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


def rounded_amount(job: Job, amount: Fraction) -> Fraction:
    """Return an amount rounded half up to the minor unit, as a fraction."""
    return Fraction(to_minor_unit(amount, job.currency))


def money_words(job: Job, amount: Fraction) -> str:
    """Return an amount as it is shown."""
    return typed(to_minor_unit(amount, job.currency))
