"""The sentences behind a price: how each total came about."""

from collections.abc import Mapping
from fractions import Fraction

from costing.breakdown import ExtraCode, FeeLine, JobCost, TotalCode
from costing.how import How, pair_word
from costing.job import Job, Rounding
from costing.numbers import shown, trimmed, typed
from costing.overhead import PERCENT
from costing.settle import (
    fee_bases,
    fee_share_of_net,
    fixed_fees,
    money_words,
    postage_gap,
    rounded_amount,
)


def price_how(job: Job, cost: JobCost, net: Fraction, asked: Fraction, per_pair: Fraction) -> How:
    """Return how the price of a pair came about."""
    code = "price_from_price_profit" if job.profit.kind == "margin" else "price_from_cost_profit"
    if asked < job.least_price:
        code += "_least"
    elif job.rounding != Rounding():
        code += "_rounded"
    fixed, gap = fixed_fees(job), postage_gap(job)
    return How(
        code,
        {
            "cost": money_words(job, cost.making_cost),
            "fixed": shown(fixed + gap) if gap or job.more_fees else _fixed_words(job),
            "cost_and_fee": shown(cost.making_cost + fixed + gap),
            "fee_share": shown(fee_share_of_net(job) * PERCENT),
            "profit": trimmed(job.profit.percent),
            "net": shown(net),
            "asked": shown(asked),
            "step": typed(job.round_up_to),
            "ending": typed(job.rounding.ending),
            "least": typed(job.least_price),
            "amount": money_words(job, per_pair),
        },
    )


def _fixed_words(job: Job) -> str:
    fee = job.fees
    return typed(fee.fixed) if fee.payments == 1 else f"{fee.payments} x {typed(fee.fixed)}"


def total_hows(
    job: Job,
    amounts: Mapping[TotalCode | ExtraCode, Fraction],
    fee_lines: tuple[FeeLine, ...],
) -> dict[TotalCode | ExtraCode, How]:
    """Return how each of the sums below the lines came about."""
    words = {code: money_words(job, amount) for code, amount in amounts.items()}
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
        "said": money_words(job, goods),
        "pairs": str(job.pair_count),
        "pair_word": pair_word(job.pair_count),
    }
    has_extras = said != goods
    untaxed_postage = bool(amounts["postage"]) and not job.tax.on_postage
    base = fee_bases(
        job,
        amounts["price"],
        amounts["price_without_tax"],
        lambda amount: rounded_amount(job, amount),
    )[0]
    fee_numbers = {
        "percent": trimmed(job.fees.percent),
        "fixed": _fixed_words(job),
        "base": money_words(job, base),
        "parts": " + ".join(f"{line.name} {typed(line.amount)}".strip() for line in fee_lines),
    }
    taxed = said - amounts["postage"] if untaxed_postage else said
    tax_numbers = {"percent": trimmed(job.tax.percent), "taxed": money_words(job, taxed)}
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
