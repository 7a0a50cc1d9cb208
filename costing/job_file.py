"""Job files and breakdown files: plain documents in and out, read strictly."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal
from typing import Any, TypeVar, get_args

from costing.breakdown import (
    Breakdown,
    ExtraCode,
    FeeLine,
    Group,
    PricedLine,
    Total,
    TotalCode,
)
from costing.errors import CostError, JobError
from costing.how import How
from costing.job import Fees, Job, MaterialUse, Postage, Profit, Rounding, Rush, Tax
from costing.labour import WorkStep
from costing.numbers import MOST_FIGURES, typed
from costing.overhead import OverheadRates

_DECIMAL_TEXT = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]{1,3})?")
_LONGEST_NUMBER_TEXT = MOST_FIGURES + 12  # room for a sign, a point and an exponent
_FAR_OUTSIDE = 10**20
Value = TypeVar("Value")


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
    with _within("overhead"):
        overhead = _overhead(_object(document, "overhead"))
    with _within("fees"):
        fees = _fees(_object(document, "fees"))
    with _within("tax"):
        tax = _tax(_object(document, "tax"))
    with _within("profit"):
        profit = _profit(_object(document, "profit"))
    return Job(
        currency=_text(document, "currency"),
        pair_count=_whole_number(document, "quantity"),
        materials=_list(document, "materials", _material),
        steps=_list(document, "steps", _step),
        labour_rate_per_h=_number(document, "labour_rate_per_hour"),
        overhead=overhead,
        fees=fees,
        tax=tax,
        profit=profit,
        round_up_to=_number(document, "round_up_to"),
        rounding=Rounding(
            _text(document, "round_way") if "round_way" in document else "up",  # type: ignore[arg-type]
            _number_or(document, "round_ending", Decimal(0)),
        ),
        least_price=_number_or(document, "least_price", Decimal(0)),
        more_fees=_list(document, "more_fees", _fees) if "more_fees" in document else (),
        rush=_rush(document),
        postage=_postage(document),
        batch_pairs=_whole_number(document, "batch_pairs") if "batch_pairs" in document else None,
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
    amounts = {code: _amount(document, code) for code in get_args(TotalCode)}
    extras = {
        code: _amount(document, code) if code in document else Decimal(0)
        for code in get_args(ExtraCode)
    }
    return Breakdown(
        currency=_text(document, "currency"),
        pair_count=_whole_number(document, "quantity"),
        lines=_list(document, "lines", _priced_line),
        totals=_agreed_totals(amounts, str(_whole_number(document, "quantity")))
        + tuple(
            Total(code, amount, How("as_agreed", {"amount": typed(amount)}))
            for code, amount in extras.items()
            if amount
        ),
        profit_percent_of_price=_amount_or_none(document, "profit_pct_of_price"),
        profit_percent_of_cost=_amount_or_none(document, "profit_pct_of_cost"),
        active_min=_amount(document, "active_minutes"),
        passive_min=_amount(document, "passive_minutes"),
        rush=extras["rush"],
        postage=extras["postage"],
        fee_lines=_list(document, "fee_lines", _fee_line)
        if "fee_lines" in document
        else (FeeLine("", amounts["fees"]),),
        **amounts,
    )


def _fee_line(entry: Mapping[str, Any]) -> FeeLine:
    return FeeLine(_text(entry, "name"), _amount(entry, "amount"))


def decimal_from(value: object, field: str) -> Decimal:
    """Return a number from decimal text, a Decimal or a whole number.

    Raises
    ------
    JobError
        The value is of another kind (a bool is no number), or is not written as a decimal.
    """
    if isinstance(value, Decimal):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        # Beyond this the exact figure no longer matters: it is over every limit.
        return Decimal(max(-_FAR_OUTSIDE, min(value, _FAR_OUTSIDE)))
    if not isinstance(value, str):
        raise JobError(
            f'must be a number written as text, such as "2.50", not {_kind(value)}',
            field=field,
            code="number_kind",
            kind=_kind(value),
        )
    if len(value) > _LONGEST_NUMBER_TEXT:
        raise JobError(
            f"has too many figures; write at most {MOST_FIGURES}",
            field=field,
            code="number_too_long",
            most=MOST_FIGURES,
        )
    if not _DECIMAL_TEXT.fullmatch(value):
        raise JobError(
            f"{value!r} is not a number; write digits with a point, such as 2.50",
            field=field,
            code="not_a_number",
            value=value,
        )
    return Decimal(value)


def _material(entry: Mapping[str, Any]) -> MaterialUse:
    _refuse_unknown(entry, ("name", "quantity", "unit", "unit_cost", "waste_pct"))
    return MaterialUse(
        name=_text(entry, "name"),
        quantity=_number(entry, "quantity"),
        unit=_text(entry, "unit"),
        unit_cost=_number(entry, "unit_cost"),
        waste_percent=_number(entry, "waste_pct"),
    )


def _step(entry: Mapping[str, Any]) -> WorkStep:
    _refuse_unknown(entry, ("name", "minutes", "per", "passive", "again_pct_less"))
    return WorkStep(
        name=_text(entry, "name"),
        minutes=_number(entry, "minutes"),
        per=_text(entry, "per"),  # type: ignore[arg-type]  # the value checks its own words
        passive=_truth_or(entry, "passive", False),
        less_again_percent=_number_or(entry, "again_pct_less", Decimal(0)),
    )


def _priced_line(entry: Mapping[str, Any]) -> PricedLine:
    group = _text(entry, "group")
    if group not in get_args(Group):
        raise JobError(
            "must be one of " + ", ".join(get_args(Group)), field="group", code="group_unknown"
        )
    how = How("as_written", {"text": _text(entry, "how")})
    return PricedLine(
        group,  # type: ignore[arg-type]  # checked above
        _text(entry, "name"),
        _amount(entry, "amount"),
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
    _refuse_unknown(entry, ("per_active_hour", "pct_of_direct"))
    return OverheadRates(_number(entry, "per_active_hour"), _number(entry, "pct_of_direct"))


def _fees(entry: Mapping[str, Any]) -> Fees:
    _refuse_unknown(entry, ("pct", "fixed", "on", "payments", "on_postage", "name"))
    return Fees(
        _number(entry, "pct"),
        _number(entry, "fixed"),
        _text(entry, "on"),  # type: ignore[arg-type]  # the value checks its own words
        payments=_whole_number(entry, "payments") if "payments" in entry else 1,
        on_postage=_truth_or(entry, "on_postage", False),
        name=_text(entry, "name") if "name" in entry else "",
    )


def _rush(document: Mapping[str, Any]) -> Rush:
    if "rush" not in document:
        return Rush()
    with _within("rush"):
        entry = _object(document, "rush")
        _refuse_unknown(entry, ("pct", "fixed"))
        return Rush(_number_or(entry, "pct", Decimal(0)), _number_or(entry, "fixed", Decimal(0)))


def _postage(document: Mapping[str, Any]) -> Postage:
    if "postage" not in document:
        return Postage()
    with _within("postage"):
        entry = _object(document, "postage")
        names = ("charged", "paid", "packing")
        _refuse_unknown(entry, names)
        return Postage(*(_number_or(entry, name, Decimal(0)) for name in names))


def _tax(entry: Mapping[str, Any]) -> Tax:
    _refuse_unknown(entry, ("pct", "included", "registered", "on_postage"))
    return Tax(
        _number(entry, "pct"),
        _truth(entry, "included"),
        registered=_truth_or(entry, "registered", True),
        on_postage=_truth_or(entry, "on_postage", True),
    )


def _profit(entry: Mapping[str, Any]) -> Profit:
    _refuse_unknown(entry, ("kind", "pct"))
    return Profit(_text(entry, "kind"), _number(entry, "pct"))  # type: ignore[arg-type]


@contextmanager
def _within(place: str) -> Iterator[None]:
    """Put the field of any fault found inside under the name of the place."""
    try:
        yield
    except CostError as fault:
        raise fault.under(place) from None


def _needed(entry: Mapping[str, Any], key: str) -> Any:
    if key not in entry:
        raise JobError("is missing", field=key, code="missing")
    return entry[key]


def _object(entry: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    if key not in entry:
        raise JobError("is missing", code="missing")
    return _as_object(entry[key])


def _as_object(value: object) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise JobError(
            f"must be an object with named values, not {_kind(value)}", code="not_an_object"
        )
    return value


def _list(
    entry: Mapping[str, Any], key: str, read: Callable[[Mapping[str, Any]], Value]
) -> tuple[Value, ...]:
    values = _needed(entry, key)
    if not isinstance(values, Sequence) or isinstance(values, str):
        raise JobError(f"must be a list, not {_kind(values)}", field=key, code="not_a_list")
    read_values = []
    for place, value in enumerate(values):
        with _within(f"{key}[{place}]"):
            read_values.append(read(_as_object(value)))
    return tuple(read_values)


def _text(entry: Mapping[str, Any], key: str) -> str:
    value = _needed(entry, key)
    if not isinstance(value, str):
        raise JobError(f"must be text, not {_kind(value)}", field=key, code="not_text")
    return value


def _truth(entry: Mapping[str, Any], key: str) -> bool:
    value = _needed(entry, key)
    if not isinstance(value, bool):
        raise JobError(
            f"must be true or false, not {_kind(value)}", field=key, code="not_true_or_false"
        )
    return value


def _number(entry: Mapping[str, Any], key: str) -> Decimal:
    return decimal_from(_needed(entry, key), key)


def _number_or(entry: Mapping[str, Any], key: str, left_out: Decimal) -> Decimal:
    return _number(entry, key) if key in entry else left_out


def _truth_or(entry: Mapping[str, Any], key: str, left_out: bool) -> bool:
    return _truth(entry, key) if key in entry else left_out


def _amount(entry: Mapping[str, Any], key: str) -> Decimal:
    """Return an amount of either sign; a loss is a negative profit."""
    value = _number(entry, key)
    if not value.is_finite():
        raise JobError("must be a finite number", field=key, code="number_not_finite")
    return value


def _amount_or_none(entry: Mapping[str, Any], key: str) -> Decimal | None:
    return None if _needed(entry, key) is None else _amount(entry, key)


def _whole_number(entry: Mapping[str, Any], key: str) -> int:
    value = _number(entry, key)
    # A value this far outside has no whole number worth keeping; 0 is refused by the job.
    sound = value.is_finite() and abs(value.adjusted()) <= MOST_FIGURES
    if not sound or value != value.to_integral_value():
        raise JobError("must be a whole number, 1 or more", field=key, code="pair_count_range")
    return int(value)


def _refuse_unknown(entry: Mapping[str, Any], known: tuple[str, ...]) -> None:
    for key in entry:
        if key not in known:
            raise JobError(
                "is not a value of a job; the values here are " + ", ".join(known),
                field=str(key)[:40],
                code="unknown_key",
            )


def _kind(value: object) -> str:
    names: tuple[tuple[type, str], ...] = (
        (bool, "true or false"),
        (type(None), "null"),
        (float, "a binary number"),
        (str, "text"),
        (Mapping, "an object"),
        (Sequence, "a list"),
    )
    return next((name for kind, name in names if isinstance(value, kind)), "another kind of value")


def _typed_or_none(value: Decimal | None) -> str | None:
    return None if value is None else typed(value)
