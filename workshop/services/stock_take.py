"""A stock-take: what was counted on a shelf, all of it saved at once or none."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from workshop.models import ReservedSupply, StockBalance, StockMove, Supply
from workshop.models.stock import THOUSANDTHS
from workshop.services.reservations import line_shorten
from workshop.services.stock import stock_count
from workshop.templatetags.stock_words import counted_units


@dataclass(frozen=True, slots=True)
class CountedSupply:
    """What was counted of a supply, what the ledger said (thousandths), and why they differ."""

    supply: Supply
    counted: Decimal
    ledger_said: int
    reason: str


@transaction.atomic
def stock_take(
    rows: Iterable[CountedSupply],
    *,
    by: AbstractBaseUser | None,
    from_reserved: bool = False,
) -> list[StockMove]:
    """Book what was counted; the ledger takes each difference, also one of nothing.

    Parameters
    ----------
    rows : iterable of CountedSupply
    from_reserved : bool
        Where less was counted than is reserved, take it from the jobs accepted last.

    Raises
    ------
    ValidationError
        A shelf changed since the list was made, or less was counted than is reserved; by
        ``counted-<id>`` for each supply. Nothing is booked.
    """
    # In one order, whoever counts what: two stock-takes never wait for each other in a ring.
    ordered = sorted(rows, key=lambda row: (row.supply.kind, row.supply.name, row.supply.pk))
    faults: dict[str, str] = {}
    for row in ordered:
        StockBalance.objects.get_or_create(supply=row.supply)
        balance = StockBalance.objects.select_for_update().get(supply=row.supply)
        fault = _fault(row, balance, from_reserved=from_reserved)
        if fault:
            faults[f"counted-{row.supply.pk}"] = fault
    if faults:
        raise ValidationError(faults)
    return [_book(row, by=by) for row in ordered]


def _fault(row: CountedSupply, balance: StockBalance, *, from_reserved: bool) -> str:
    unit = row.supply.unit
    if balance.on_hand != row.ledger_said:
        return _(
            "Something was booked meanwhile: the ledger now says %(now)s, not %(then)s. Look again."
        ) % {
            "now": counted_units(balance.on_hand, unit),
            "then": counted_units(row.ledger_said, unit),
        }
    amount = int(row.counted * THOUSANDTHS)
    if amount >= balance.reserved or from_reserved:
        return ""
    jobs = ", ".join(line.reservation.commission.code for line in _holding(row.supply))
    return _(
        "%(counted)s counted, but %(reserved)s are reserved (%(jobs)s). Count again, or tick below"
        " that the job accepted last goes without."
    ) % {
        "counted": counted_units(amount, unit),
        "reserved": counted_units(balance.reserved, unit),
        "jobs": jobs or "–",
    }


def _holding(supply: Supply) -> list[ReservedSupply]:
    """Return the lines that hold some of a supply, of the job accepted last first."""
    lines = ReservedSupply.objects.of_open().filter(supply=supply, held__gt=0)
    return list(lines.select_related("reservation__commission").order_by("-reservation_id"))


def _book(row: CountedSupply, *, by: AbstractBaseUser | None) -> StockMove:
    amount = int(row.counted * THOUSANDTHS)
    over = StockBalance.objects.get(supply=row.supply).reserved - amount
    for line in _holding(row.supply) if over > 0 else ():
        less = min(over, line.held)
        line_shorten(line, less, by=by)
        over -= less
        if not over:
            break
    return stock_count(row.supply, counted=row.counted, reason=row.reason, by=by)
