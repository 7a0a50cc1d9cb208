"""What is to be bought: what open jobs miss and the shelf does not hold free, by supplier."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, Sum
from django.utils.translation import gettext as _

from costing.errors import CostError
from costing.leather import Purchase
from costing.money import round_half_up, to_minor_unit
from costing.packs import PackPurchase, packs_for
from workshop.bridge import offer_of_lot
from workshop.doors import MONEY
from workshop.models import (
    Commission,
    Cutting,
    Hide,
    LeatherLot,
    Quote,
    Reservation,
    ReservedSupply,
    Supply,
    WorkshopProfile,
)
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.stock import OUTLINES
from workshop.selectors.work_log import snapshot_parts
from workshop.services.reservations import JOB_HOLDS
from workshop.supply_lines import UPPER

AREA_PLACES = 2


@dataclass(frozen=True, slots=True)
class SupplyToBuy:
    """A supply to buy: what jobs miss, what is free, what is to stay on the shelf, whole packs.

    ``cost`` is None for whoever may see no money.
    """

    supply: Supply
    for_jobs: Decimal
    free: Decimal
    to_keep: Decimal
    purchase: PackPurchase
    jobs: list[Commission]
    cost: Decimal | None


@dataclass(slots=True)
class SupplierList:
    """What is to be bought from one supplier, of all of them where no money is seen."""

    name: str
    rows: list[SupplyToBuy] = field(default_factory=list)

    @property
    def cost(self) -> Decimal | None:
        """Return what it comes to, the sum of the lines as shown."""
        costs = [row.cost for row in self.rows if row.cost is not None]
        return sum(costs, Decimal(0)) if costs else None


@dataclass(frozen=True, slots=True)
class LeatherToBuy:
    """Leather of one lot that accepted jobs were quoted on and that has not been bought."""

    lot: LeatherLot
    jobs: list[Commission]
    need_dm2: Decimal
    purchase: Purchase | None
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class WithoutHide:
    """A job whose leather is not where its quote says; ``why`` says where it is."""

    commission: Commission
    need_dm2: Decimal
    why: str


@dataclass(frozen=True, slots=True)
class ToBuy:
    """All that is to be bought, and the open jobs the list knows nothing of."""

    suppliers: list[SupplierList]
    leather: list[LeatherToBuy]
    without_hide: list[WithoutHide]
    unreserved: list[Commission]
    currency: str

    @property
    def cost(self) -> Decimal | None:
        """Return what supplies and leather come to together; None where no money is seen."""
        costs = [row.cost for row in (*self.suppliers, *self.leather) if row.cost is not None]
        return sum(costs, Decimal(0)) if costs else None


def to_buy(role: str, *, jobs_only: bool = False) -> ToBuy:
    """Return what is to be bought; with ``jobs_only`` nothing that only fills up the shelf."""
    currency = WorkshopProfile.current().currency
    open_jobs = Commission.objects.filter(state__in=JOB_HOLDS)
    held = Reservation.objects.filter(commission=OuterRef("pk"), state=Reservation.State.OPEN)
    quoted = Quote.objects.filter(commission=OuterRef("pk"), state=Quote.State.ACCEPTED)
    unreserved = open_jobs.filter(~Exists(held), Exists(quoted)).select_related("doll")
    leather, without = _leather(open_jobs, role, currency)
    return ToBuy(
        suppliers=_by_supplier(_supplies(role, currency, jobs_only=jobs_only), role),
        leather=leather,
        without_hide=without,
        unreserved=list(unreserved.order_by("number")),
        currency=currency,
    )


def _supplies(role: str, currency: str, *, jobs_only: bool) -> list[SupplyToBuy]:
    lines = ReservedSupply.objects.missing_some()
    missing = dict(
        lines.order_by()
        .values("supply_id")
        .annotate(sum=Sum(F("needed") - F("held") - F("taken")))
        .values_list("supply_id", "sum")
    )
    wanted = Q(pk__in=missing)
    if not jobs_only:
        wanted |= Q(balance__free__lt=F("reorder_point") * THOUSANDTHS)
    supplies = Supply.objects.filter(wanted).select_related("balance")
    jobs = _jobs_missing(lines)
    rows = []
    for supply in supplies.order_by("kind", "name", "pk"):
        need, free, to_keep, purchase = _row(supply, missing.get(supply.pk, 0), jobs_only=jobs_only)
        if purchase.packs:
            cost = to_minor_unit(purchase.cost, currency) if role in MONEY else None
            rows.append(
                SupplyToBuy(supply, need, free, to_keep, purchase, jobs.get(supply.pk, []), cost)
            )
    return rows


def _row(
    supply: Supply, missing: int, *, jobs_only: bool
) -> tuple[Decimal, Decimal, Decimal, PackPurchase]:
    balance = getattr(supply, "balance", None)
    free = Decimal(0 if balance is None else balance.free) / THOUSANDTHS
    need = Decimal(missing) / THOUSANDTHS
    # What jobs miss is taken of what is free first, and may leave too little.
    is_low = max(Decimal(0), free - need) < supply.reorder_point
    to_keep = supply.reorder_point if is_low and not jobs_only else Decimal(0)
    purchase = packs_for(
        need + to_keep,
        pack_quantity=supply.pack_quantity,
        pack_price=supply.pack_price,
        on_shelf=free,
    )
    return need, free, to_keep, purchase


def _jobs_missing(lines: Iterable[ReservedSupply]) -> dict[int, list[Commission]]:
    jobs: dict[int, list[Commission]] = {}
    for line in lines.select_related("reservation__commission").order_by("reservation_id"):
        jobs.setdefault(line.supply_id, []).append(line.reservation.commission)
    return jobs


def _by_supplier(rows: Iterable[SupplyToBuy], role: str) -> list[SupplierList]:
    """Return the rows by supplier, those without one last; one list where none may be seen."""
    lists: dict[str, SupplierList] = {}
    for row in rows:
        name = row.supply.supplier.strip() if role in MONEY else ""
        lists.setdefault(name.casefold(), SupplierList(name)).rows.append(row)
    return [lists[key] for key in sorted(lists, key=lambda key: (not key, key))]


def _leather(
    open_jobs: Iterable[Commission], role: str, currency: str
) -> tuple[list[LeatherToBuy], list[WithoutHide]]:
    """Return the leather of open jobs that have neither cut nor kept a hide."""
    cut = Cutting.objects.filter(commission=OuterRef("commission"))
    kept = Hide.objects.filter(reserved_for=OuterRef("commission"))
    quotes = Quote.objects.filter(
        ~Exists(cut), ~Exists(kept), commission__in=open_jobs, state=Quote.State.ACCEPTED
    ).defer(*Quote.LARGE)
    found = {quote.pk: quote for quote in quotes.select_related("commission__doll")}
    hides = Hide.objects.select_related("lot", "reserved_for").defer(*OUTLINES)
    of_quotes = hides.in_bulk({quote.hide_id for quote in found.values() if quote.hide_id})
    parts = snapshot_parts(found, "hide", "bill", "job")
    of_lots: dict[str, list[tuple[Commission, Fraction]]] = {}
    without: list[WithoutHide] = []
    for quote_id, quote in sorted(found.items(), key=lambda pair: pair[1].commission.number):
        need = _need_dm2(parts[quote_id])
        if quote.hide_id is None:
            code = str((parts[quote_id]["hide"] or {}).get("code", ""))
            of_lots.setdefault(code, []).append((quote.commission, need))
            continue
        why = _gone(of_quotes[quote.hide_id])
        if why:
            without.append(WithoutHide(quote.commission, round_half_up(need, AREA_PLACES), why))
    return _lots(of_lots, without, role, currency), without


def _need_dm2(snapshot: dict[str, Any]) -> Fraction:
    """Return the upper leather an order takes, waste included."""
    pairs = int(snapshot["job"]["quantity"])
    taken = Fraction(0)
    for line in snapshot["bill"]:
        if line["key"] == UPPER:
            taken += Fraction(line["quantity"]) / (1 - Fraction(line["waste_share"])) * pairs
    return taken


def _gone(hide: Hide) -> str:
    """Return why a job cannot have the hide it was quoted on; empty where it still can."""
    if hide.state == Hide.State.RESERVED and hide.reserved_for is not None:
        words = _("%(hide)s is reserved for %(job)s")
        return words % {"hide": hide.code, "job": hide.reserved_for.code}
    if hide.state == Hide.State.ON_SHELF:
        return ""
    return _("%(hide)s is %(state)s") % {"hide": hide.code, "state": hide.get_state_display()}


def _lots(
    of_lots: dict[str, list[tuple[Commission, Fraction]]],
    without: list[WithoutHide],
    role: str,
    currency: str,
) -> list[LeatherToBuy]:
    """Return one purchase for each offer; jobs of a lot that was bought since need a hide of it."""
    numbers = [int(code[2:]) for code in of_lots if code[:2] == "L-" and code[2:].isdigit()]
    lots = {lot.code: lot for lot in LeatherLot.objects.filter(number__in=numbers)}
    rows = []
    for code, wants in of_lots.items():
        lot = lots.get(code)
        if lot is None or not lot.is_offer:
            why = _("%(lot)s is bought: keep a hide of it for the job") % {"lot": code}
            without += [WithoutHide(job, round_half_up(n, AREA_PLACES), why) for job, n in wants]
            continue
        need = sum((need for _job, need in wants), Fraction(0))
        purchase = _purchase(lot, need)
        shows = purchase is not None and role in MONEY
        rows.append(
            LeatherToBuy(
                lot,
                [job for job, _need in wants],
                round_half_up(need, AREA_PLACES),
                purchase if shows else None,
                to_minor_unit(purchase.cost, currency) if purchase and shows else None,
            )
        )
    return rows


def _purchase(lot: LeatherLot, need_dm2: Fraction) -> Purchase | None:
    try:
        return offer_of_lot(lot).purchase(need_dm2)
    except CostError:
        return None
