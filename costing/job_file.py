"""Job files and breakdown files: plain documents in and out, read strictly."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, get_args

from costing.breakdown import (
    Breakdown,
    ExtraCode,
    FeeLine,
    Group,
    PricedLine,
    Total,
    TotalCode,
)
from costing.errors import JobError
from costing.file_values import (
    amount_at,
    amount_or_none,
    list_at,
    number_at,
    number_or,
    object_at,
    refuse_unknown,
    text_at,
    truth_at,
    truth_or,
    whole_number_at,
    within,
)
from costing.how import How
from costing.job import Fees, Job, MaterialUse, Postage, Profit, Rounding, Rush, Tax
from costing.labour import WorkStep
from costing.numbers import typed
from costing.overhead import OverheadRates


def job_from_document(document: Mapping[str, Any]) -> Job:
    """Return the job that a job file describes.

    Parameters
    ----------
    document : mapping
        The keys of a job file. Numbers are decimal text, `Decimal` or whole numbers; a binary
        float is refused, as it no longer holds what was typed. Further keys at the top are
        ignored, further keys within are an error, so that a misspelt ``passive`` is found.

    Raises
    ------
    CostError
        Something is missing, of the wrong kind or out of range; ``field`` names it, such as
        ``"materials[1].waste_pct"``.
    """
    if not isinstance(document, Mapping):
        raise JobError("a job must be an object with named values", code="not_an_object")
    with within("overhead"):
        overhead = _overhead(object_at(document, "overhead"))
    with within("fees"):
        fees = _fees(object_at(document, "fees"))
    with within("tax"):
        tax = _tax(object_at(document, "tax"))
    with within("profit"):
        profit = _profit(object_at(document, "profit"))
    return Job(
        currency=text_at(document, "currency"),
        pair_count=whole_number_at(document, "quantity"),
        materials=list_at(document, "materials", _material),
        steps=list_at(document, "steps", _step),
        labour_rate_per_h=number_at(document, "labour_rate_per_hour"),
        overhead=overhead,
        fees=fees,
        tax=tax,
        profit=profit,
        round_up_to=number_at(document, "round_up_to"),
        rounding=Rounding(
            text_at(document, "round_way") if "round_way" in document else "up",  # type: ignore[arg-type]
            number_or(document, "round_ending", Decimal(0)),
        ),
        least_price=number_or(document, "least_price", Decimal(0)),
        more_fees=list_at(document, "more_fees", _fees) if "more_fees" in document else (),
        rush=_rush(document),
        postage=_postage(document),
        batch_pairs=whole_number_at(document, "batch_pairs") if "batch_pairs" in document else None,
    )


def document_from_job(job: Job) -> dict[str, Any]:
    """Return the job file of a job, numbers as decimal text; reading it gives the same job.

    Values that a job may leave out are written only where they say something.
    """
    return _plain_document(job) | _extra_values(job)


def _extra_values(job: Job) -> dict[str, Any]:
    extras: dict[str, Any] = {}
    if job.rounding != Rounding():
        extras["round_way"] = job.rounding.way
        extras["round_ending"] = typed(job.rounding.ending)
    if job.least_price:
        extras["least_price"] = typed(job.least_price)
    if job.more_fees:
        extras["more_fees"] = [_fee_document(fee) for fee in job.more_fees]
    if job.rush != Rush():
        extras["rush"] = {"pct": typed(job.rush.percent), "fixed": typed(job.rush.fixed)}
    if job.postage != Postage():
        extras["postage"] = {
            "charged": typed(job.postage.charged),
            "paid": typed(job.postage.paid),
            "packing": typed(job.postage.packing),
        }
    if job.batch_pairs is not None:
        extras["batch_pairs"] = job.batch_pairs
    return extras


def _fee_document(fee: Fees) -> dict[str, Any]:
    document: dict[str, Any] = {
        "pct": typed(fee.percent),
        "fixed": typed(fee.fixed),
        "on": fee.on,
    }
    if fee.payments != 1:
        document["payments"] = fee.payments
    if fee.on_postage:
        document["on_postage"] = True
    if fee.name:
        document["name"] = fee.name
    return document


def _tax_document(tax: Tax) -> dict[str, Any]:
    document: dict[str, Any] = {"pct": typed(tax.percent), "included": tax.included}
    if not tax.registered:
        document["registered"] = False
    if not tax.on_postage:
        document["on_postage"] = False
    return document


def _step_document(step: WorkStep) -> dict[str, Any]:
    document: dict[str, Any] = {
        "name": step.name,
        "minutes": typed(step.minutes),
        "per": step.per,
        "passive": step.passive,
    }
    if step.less_again_percent:
        document["again_pct_less"] = typed(step.less_again_percent)
    return document


def _plain_document(job: Job) -> dict[str, Any]:
    return {
        "currency": job.currency,
        "quantity": job.pair_count,
        "materials": [
            {
                "name": use.name,
                "quantity": typed(use.quantity),
                "unit": use.unit,
                "unit_cost": typed(use.unit_cost),
                "waste_pct": typed(use.waste_percent),
            }
            for use in job.materials
        ],
        "steps": [_step_document(step) for step in job.steps],
        "labour_rate_per_hour": typed(job.labour_rate_per_h),
        "overhead": {
            "per_active_hour": typed(job.overhead.per_active_hour),
            "pct_of_direct": typed(job.overhead.percent_of_direct),
        },
        "fees": _fee_document(job.fees),
        "tax": _tax_document(job.tax),
        "profit": {"kind": job.profit.kind, "pct": typed(job.profit.percent)},
        "round_up_to": typed(job.round_up_to),
    }


def document_from_breakdown(breakdown: Breakdown) -> dict[str, Any]:
    """Return the breakdown file of a breakdown, amounts as decimal text.

    A percentage of nothing (no price, or no cost) is None, which files write as null.
    """
    return {
        "currency": breakdown.currency,
        "quantity": breakdown.pair_count,
        "lines": [
            {
                "group": line.group,
                "name": line.name,
                "amount": typed(line.amount),
                "how": line.how,
            }
            for line in breakdown.lines
        ],
        "cost": typed(breakdown.cost),
        "cost_per_pair": typed(breakdown.cost_per_pair),
        "price_per_pair": typed(breakdown.price_per_pair),
        "price": typed(breakdown.price),
        "price_without_tax": typed(breakdown.price_without_tax),
        "tax": typed(breakdown.tax),
        "fees": typed(breakdown.fees),
        "profit": typed(breakdown.profit),
        "profit_pct_of_price": _typed_or_none(breakdown.profit_percent_of_price),
        "profit_pct_of_cost": _typed_or_none(breakdown.profit_percent_of_cost),
        "active_minutes": typed(breakdown.active_min),
        "passive_minutes": typed(breakdown.passive_min),
    } | _extra_amounts(breakdown)


def _extra_amounts(breakdown: Breakdown) -> dict[str, Any]:
    """Return what a plain breakdown has nothing of: rush extra, postage, several fees."""
    extras: dict[str, Any] = {
        code: typed(amount)
        for code, amount in (("rush", breakdown.rush), ("postage", breakdown.postage))
        if amount
    }
    if len(breakdown.fee_lines) > 1:
        extras["fee_lines"] = [
            {"name": line.name, "amount": typed(line.amount)} for line in breakdown.fee_lines
        ]
    return extras


def breakdown_from_document(document: Mapping[str, Any]) -> Breakdown:
    """Return the breakdown that a breakdown file holds, every figure as it stands there.

    Nothing is worked out again. The lines keep their sentences; the rates behind tax, fees and the
    price of a pair are not in the file, so these totals say only that they are as agreed.

    Raises
    ------
    CostError
        Something is missing or of the wrong kind; ``field`` names it.
    """
    if not isinstance(document, Mapping):
        raise JobError("a breakdown must be an object with named values", code="not_an_object")
    amounts = {code: amount_at(document, code) for code in get_args(TotalCode)}
    extras = {
        code: amount_at(document, code) if code in document else Decimal(0)
        for code in get_args(ExtraCode)
    }
    return Breakdown(
        currency=text_at(document, "currency"),
        pair_count=whole_number_at(document, "quantity"),
        lines=list_at(document, "lines", _priced_line),
        totals=_agreed_totals(amounts, str(whole_number_at(document, "quantity")))
        + tuple(
            Total(code, amount, How("as_agreed", {"amount": typed(amount)}))
            for code, amount in extras.items()
            if amount
        ),
        profit_percent_of_price=amount_or_none(document, "profit_pct_of_price"),
        profit_percent_of_cost=amount_or_none(document, "profit_pct_of_cost"),
        active_min=amount_at(document, "active_minutes"),
        passive_min=amount_at(document, "passive_minutes"),
        rush=extras["rush"],
        postage=extras["postage"],
        fee_lines=list_at(document, "fee_lines", _fee_line)
        if "fee_lines" in document
        else (FeeLine("", amounts["fees"]),),
        **amounts,
    )


def _fee_line(entry: Mapping[str, Any]) -> FeeLine:
    return FeeLine(text_at(entry, "name"), amount_at(entry, "amount"))


def _material(entry: Mapping[str, Any]) -> MaterialUse:
    refuse_unknown(entry, ("name", "quantity", "unit", "unit_cost", "waste_pct"))
    return MaterialUse(
        name=text_at(entry, "name"),
        quantity=number_at(entry, "quantity"),
        unit=text_at(entry, "unit"),
        unit_cost=number_at(entry, "unit_cost"),
        waste_percent=number_at(entry, "waste_pct"),
    )


def _step(entry: Mapping[str, Any]) -> WorkStep:
    refuse_unknown(entry, ("name", "minutes", "per", "passive", "again_pct_less"))
    return WorkStep(
        name=text_at(entry, "name"),
        minutes=number_at(entry, "minutes"),
        per=text_at(entry, "per"),  # type: ignore[arg-type]  # the value checks its own words
        passive=truth_or(entry, "passive", False),
        less_again_percent=number_or(entry, "again_pct_less", Decimal(0)),
    )


def _priced_line(entry: Mapping[str, Any]) -> PricedLine:
    group = text_at(entry, "group")
    if group not in get_args(Group):
        raise JobError(
            "must be one of " + ", ".join(get_args(Group)), field="group", code="group_unknown"
        )
    how = How("as_written", {"text": text_at(entry, "how")})
    return PricedLine(
        group,  # type: ignore[arg-type]  # checked above
        text_at(entry, "name"),
        amount_at(entry, "amount"),
        how,
    )


def _agreed_totals(amounts: Mapping[TotalCode, Decimal], pairs: str) -> tuple[Total, ...]:
    words = {code: typed(amount) for code, amount in amounts.items()}
    words_of_all = words | {"net": words["price_without_tax"], "pairs": pairs}
    sentences: dict[TotalCode, str] = {
        "cost": "cost",
        "cost_per_pair": "cost_per_pair",
        "price": "price_added",
        "price_without_tax": "net_included",
        "profit": "profit",
    }
    return tuple(
        Total(
            code,
            amount,
            How(sentences.get(code, "as_agreed"), words_of_all | {"amount": words[code]}),
        )
        for code, amount in amounts.items()
    )


def _overhead(entry: Mapping[str, Any]) -> OverheadRates:
    refuse_unknown(entry, ("per_active_hour", "pct_of_direct"))
    return OverheadRates(number_at(entry, "per_active_hour"), number_at(entry, "pct_of_direct"))


def _fees(entry: Mapping[str, Any]) -> Fees:
    refuse_unknown(entry, ("pct", "fixed", "on", "payments", "on_postage", "name"))
    return Fees(
        number_at(entry, "pct"),
        number_at(entry, "fixed"),
        text_at(entry, "on"),  # type: ignore[arg-type]  # the value checks its own words
        payments=whole_number_at(entry, "payments") if "payments" in entry else 1,
        on_postage=truth_or(entry, "on_postage", False),
        name=text_at(entry, "name") if "name" in entry else "",
    )


def _rush(document: Mapping[str, Any]) -> Rush:
    if "rush" not in document:
        return Rush()
    with within("rush"):
        entry = object_at(document, "rush")
        refuse_unknown(entry, ("pct", "fixed"))
        return Rush(number_or(entry, "pct", Decimal(0)), number_or(entry, "fixed", Decimal(0)))


def _postage(document: Mapping[str, Any]) -> Postage:
    if "postage" not in document:
        return Postage()
    with within("postage"):
        entry = object_at(document, "postage")
        names = ("charged", "paid", "packing")
        refuse_unknown(entry, names)
        return Postage(*(number_or(entry, name, Decimal(0)) for name in names))


def _tax(entry: Mapping[str, Any]) -> Tax:
    refuse_unknown(entry, ("pct", "included", "registered", "on_postage"))
    return Tax(
        number_at(entry, "pct"),
        truth_at(entry, "included"),
        registered=truth_or(entry, "registered", True),
        on_postage=truth_or(entry, "on_postage", True),
    )


def _profit(entry: Mapping[str, Any]) -> Profit:
    refuse_unknown(entry, ("kind", "pct"))
    return Profit(text_at(entry, "kind"), number_at(entry, "pct"))  # type: ignore[arg-type]


def _typed_or_none(value: Decimal | None) -> str | None:
    return None if value is None else typed(value)
