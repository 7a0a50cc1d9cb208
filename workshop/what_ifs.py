"""The what-ifs of a job in words."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from costing.bill_line import BillLine
from costing.job import Job, Rounding
from costing.money import currency_digits
from costing.numbers import trimmed
from costing.what_if import (
    Change,
    WhatIf,
    dearer_materials,
    higher_fee,
    more_hours,
    other_rounding,
    what_if,
)

LEATHER_KEYS = ("upper", "lining", "sole")


@dataclass(frozen=True, slots=True)
class WhatIfRow:
    """One what-if: its words, and what it comes to."""

    words: str
    result: WhatIf


def what_if_rows(job: Job, bill: tuple[BillLine, ...]) -> list[WhatIfRow]:
    """Return what dearer leather, more hours, a higher fee and other rounding come to."""
    leather = {at for at, line in enumerate(bill) if line.key in LEATHER_KEYS}
    changes = [
        *(dearer_materials(Decimal(percent), leather) for percent in (10, 25, -10)),
        *(more_hours(Decimal(percent)) for percent in (10, 25, -10)),
        *(higher_fee(Decimal(points)) for points in (1, 3)),
        *_roundings(job),
    ]
    return [
        WhatIfRow(_words(change), row)
        for change, row in zip(changes, what_if(job, changes), strict=True)
    ]


def _roundings(job: Job) -> list[Change]:
    """Return the usual roundings in which the job's currency has prices, its own left out."""
    usual = [
        (Decimal("0.50"), Rounding()),
        (Decimal(1), Rounding()),
        (Decimal(1), Rounding("up", Decimal("0.90"))),
        (Decimal(1), Rounding("nearest")),
    ]
    unit = Decimal(1).scaleb(-currency_digits(job.currency))
    return [
        other_rounding(step, rounding)
        for step, rounding in usual
        if step % unit == 0
        and rounding.ending % unit == 0
        and (step, rounding) != (job.round_up_to, job.rounding)
    ]


def _words(change: Change) -> str:
    amount = trimmed(change.amount.copy_abs())
    rises = change.amount > 0
    sentences = {
        "leather": _("leather %(n)s %% dearer") if rises else _("leather %(n)s %% cheaper"),
        "hours": _("%(n)s %% more hours") if rises else _("%(n)s %% fewer hours"),
        "fee": _("fees higher by %(n)s %% of the price"),
        "rounding_up": _("rounded up to %(n)s"),
        "rounding_nearest": _("rounded to the nearest %(n)s"),
    }
    return sentences[change.code] % {"n": amount}
