"""What jobs have reserved on the shelf, as their page, the supplies' and the checks show it."""

from dataclasses import dataclass

from django.db.models import F, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import (
    Commission,
    Hide,
    Reservation,
    ReservedSupply,
    StockBalance,
    Supply,
)
from workshop.selectors.stock import OUTLINES
from workshop.selectors.supply_needs import hide_quoted, needs_of_job
from workshop.services.cuttings import reserved_words
from workshop.services.reservations import JOB_HOLDS
from workshop.templatetags.stock_words import counted_units

JOBS_SHOWN = 50


@dataclass(frozen=True, slots=True)
class ReservedShown:
    """A job's reservation; ``unknown`` are lines of its bill that no supply goes by today.

    ``hides`` are kept for it; ``quoted_hide`` is the one it was quoted on, where that is free and
    the job has none; ``hide_missing`` says why that cannot be had.
    """

    reservation: Reservation | None
    lines: list[ReservedSupply]
    unknown: list[str]
    may_reserve: bool
    hides: list[Hide]
    quoted_hide: Hide | None
    hide_missing: str

    @property
    def missing(self) -> list[ReservedSupply]:
        """Return the lines the shelf does not hold enough for, while the job still needs them."""
        if self.reservation is None or not self.reservation.is_open:
            return []
        return [line for line in self.lines if line.missing]

    @property
    def is_late(self) -> bool:
        """Return whether the day of the deposit has passed without it."""
        row = self.reservation
        return (
            row is not None
            and row.deposit_paid_on is None
            and row.deposit_due_on is not None
            and row.deposit_due_on < timezone.localdate()
        )


def reserved_shown(commission: Commission) -> ReservedShown:
    """Return what is reserved for a job and what is missing."""
    reservation = Reservation.objects.filter(commission=commission).first()
    needs = needs_of_job(commission)
    lines = [] if reservation is None else reservation.lines.select_related("supply__balance")
    may_reserve = needs is not None and commission.state in JOB_HOLDS
    hides = Hide.objects.select_related("lot").defer(*OUTLINES)
    quoted = hide_quoted(commission) if may_reserve else None
    is_free = quoted is not None and quoted.state == Hide.State.ON_SHELF
    return ReservedShown(
        reservation,
        list(lines),
        [] if needs is None else needs.unknown,
        may_reserve,
        list(hides.filter(reserved_for=commission)),
        quoted if is_free else None,
        "" if quoted is None or is_free else reserved_words(quoted),
    )


def hide_missing(commission: Commission) -> str:
    """Return why an accepted job has not the hide it was quoted on, empty where it needs none."""
    quoted = hide_quoted(commission) if commission.state in JOB_HOLDS else None
    if quoted is None:
        return ""
    if quoted.state == Hide.State.ON_SHELF:
        return _("%(hide)s, on which it was quoted, is free and not kept for it.") % {
            "hide": quoted.code
        }
    return reserved_words(quoted)


def missing_count(commission: Commission) -> int:
    """Return how many supplies a job in hand still misses on the shelf."""
    if commission.state not in JOB_HOLDS:
        return 0
    lines = ReservedSupply.objects.missing_some()
    return lines.filter(reservation__commission=commission).count()


def short_words(line: ReservedSupply) -> str:
    """Return that the shelf did not hold all a finished job took of a supply."""
    return _(
        "The shelf did not hold all of it: %(missing)s of %(supply)s is not booked. Count the"
        " shelf."
    ) % {"missing": counted_units(line.missing, line.supply.unit), "supply": line.supply.name}


def jobs_holding(supply: Supply) -> list[ReservedSupply]:
    """Return the jobs that have a supply reserved or miss some of it, the oldest first."""
    lines = ReservedSupply.objects.of_open().filter(supply=supply, needed__gt=F("taken"))
    rows = lines.select_related("reservation__commission__doll")
    return list(rows.order_by("reservation_id")[:JOBS_SHOWN])


@dataclass(frozen=True, slots=True)
class HeldFault:
    """A supply of which jobs hold more or less than its balance has reserved, in thousandths."""

    supply: Supply
    reserved: int
    held: int


def held_faults() -> list[HeldFault]:
    """Return every supply whose reserved stock is not what the jobs together hold of it."""
    lines = ReservedSupply.objects.filter(supply=OuterRef("supply")).order_by().values("supply")
    held = Coalesce(Subquery(lines.annotate(sum=Sum("held")).values("sum")), 0)
    rows = StockBalance.objects.annotate(held=held).exclude(reserved=F("held"))
    return [
        HeldFault(row.supply, row.reserved, row.held)
        for row in rows.select_related("supply").order_by("supply__number")
    ]
