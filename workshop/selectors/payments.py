"""What jobs owe and what was paid: the accounts behind their pages, counting back and the month."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from costing.breakdown import Breakdown
from costing.counted import Came
from costing.money import to_minor_unit
from workshop.models import Bill, BillLine, Commission, Parcel, Payment, WorkshopProfile
from workshop.selectors.agreed import Agreed, agreed_of

# While a job stands here its customer owes what was agreed; one that is closed owes nothing.
OWING = (
    Commission.State.ACCEPTED,
    Commission.State.IN_WORK,
    Commission.State.FINISHED,
    Commission.State.SENT,
)


@dataclass(slots=True)
class Account:
    """What a job owes and has paid, all in one currency; refunds are taken off what was paid.

    ``owed`` is what the bills come to less their credit notes, before there is one the price that
    was agreed.
    """

    currency: str
    agreed: Agreed | None
    owed: Decimal
    payments: list[Payment]
    bills: list[Bill]
    deposit_asked: Decimal | None

    @property
    def counted(self) -> list[Payment]:
        """Return the payments that were not taken back."""
        return [row for row in self.payments if row.cancelled_at is None]

    @property
    def paid(self) -> Decimal:
        """Return what was paid and not given back."""
        zero = to_minor_unit(Decimal(0), self.currency)
        return sum((to_minor_unit(row.signed, self.currency) for row in self.counted), zero)

    @property
    def fees(self) -> Decimal:
        """Return what was really kept of the payments."""
        zero = to_minor_unit(Decimal(0), self.currency)
        return sum((to_minor_unit(row.fee, self.currency) for row in self.counted), zero)

    @property
    def open(self) -> Decimal:
        """Return what is still to be paid; below zero it is to be given back."""
        return self.owed - self.paid

    @property
    def to_give_back(self) -> Decimal:
        """Return what was paid beyond what is owed."""
        return max(-self.open, to_minor_unit(Decimal(0), self.currency))

    @property
    def deposit_open(self) -> Decimal | None:
        """Return what is missing of the deposit, None where it is here or none is asked."""
        if self.deposit_asked is None or self.paid >= self.deposit_asked:
            return None
        return self.deposit_asked - self.paid

    @property
    def is_deposit_here(self) -> bool:
        """Return whether the deposit came; where none is asked, whether anything did."""
        return self.paid > 0 and self.deposit_open is None

    @property
    def standing_bill(self) -> Bill | None:
        """Return the bill that is not taken back whole, if there is one."""
        left = bills_left(self.bills)
        return next((row for row in self.bills if left.get(row.pk)), None)


def account_of(commission: Commission) -> Account:
    """Return a job's account; the deposit is that of the day it was accepted."""
    agreed = agreed_of(commission)
    bills = list(commission.bills.select_related("bill").order_by("id"))
    payments = list(commission.payments.select_related("made_by").order_by("paid_on", "id"))
    currency = _currency(agreed, bills, payments) or WorkshopProfile.current().currency
    owed = to_minor_unit(Decimal(0), currency)
    if bills:
        owed += sum((_counts(row) for row in bills), Decimal(0))
    elif agreed is not None and commission.state in OWING:
        owed += agreed.price
    asked = None
    if commission.deposit_pct is not None and agreed is not None and agreed.price:
        share = Fraction(commission.deposit_pct) / 100
        asked = to_minor_unit(Fraction(agreed.price) * share, currency)
    return Account(currency, agreed, to_minor_unit(owed, currency), payments, bills, asked)


def _currency(agreed: Agreed | None, bills: list[Bill], payments: list[Payment]) -> str:
    if agreed is not None:
        return agreed.currency
    return next((row.currency for row in (*bills, *payments)), "")


def _counts(bill: Bill) -> Decimal:
    return -bill.amount if bill.kind == Bill.Kind.CREDIT else bill.amount


def bills_left(bills: Iterable[Bill]) -> dict[int, Decimal]:
    """Return what credit notes have left of each bill, by its id."""
    rows = list(bills)
    left = {row.pk: row.amount for row in rows if row.kind == Bill.Kind.BILL}
    for row in rows:
        if row.bill_id is not None:
            left[row.bill_id] -= row.amount
    return left


@dataclass(frozen=True, slots=True)
class LineLeft:
    """A line of a bill, and what credit notes have left of its amount and its tax."""

    line: BillLine
    amount: Decimal
    tax: Decimal


def lines_left(bill: Bill) -> list[LineLeft]:
    """Return the lines of a bill with what is left of each."""
    rows = bill.lines.prefetch_related("taken_back").order_by("position")
    return [
        LineLeft(
            row,
            row.amount - sum((back.amount for back in row.taken_back.all()), Decimal(0)),
            row.tax - sum((back.tax for back in row.taken_back.all()), Decimal(0)),
        )
        for row in rows
    ]


@dataclass(slots=True)
class Received:
    """What really came of a job so far: its sums as billed, its payments and what they cost.

    ``price`` and ``tax`` are None before there is a bill; ``fees`` is None where no payment is
    written down.
    """

    price: Decimal | None = None
    tax: Decimal | None = None
    paid: Decimal = Decimal(0)
    fees: Decimal | None = None
    rows: list[Payment] = field(default_factory=list)


def received_of(jobs: Iterable[int]) -> dict[int, Received]:
    """Return what came of each job that has a payment or a bill; two queries for all of them."""
    keys = list(jobs)
    found: dict[int, Received] = {}
    for row in Bill.objects.filter(commission__in=keys).only(
        "commission_id", "kind", "amount", "tax"
    ):
        of_job = found.setdefault(row.commission_id, Received())
        sign = -1 if row.kind == Bill.Kind.CREDIT else 1
        of_job.price = (of_job.price or Decimal(0)) + sign * row.amount
        of_job.tax = (of_job.tax or Decimal(0)) + sign * row.tax
    for payment in Payment.objects.filter(commission__in=keys, cancelled_at=None):
        of_job = found.setdefault(payment.commission_id, Received())
        of_job.paid += payment.signed
        of_job.fees = (of_job.fees or Decimal(0)) + payment.fee
        of_job.rows.append(payment)
    return found


def parcels_paid(jobs: Iterable[int]) -> dict[int, dict[str, Decimal]]:
    """Return what the parcels of each job really cost, by the line of its price; one query.

    Packing of which no cost is written down is left out, as is postage while one is missing.
    """
    found: dict[int, dict[str, Decimal]] = {}
    unknown: set[int] = set()
    for row in Parcel.objects.filter(commission__in=list(jobs)):
        of_job = found.setdefault(row.commission_id, {})
        if row.cost is None:
            unknown.add(row.commission_id)
        else:
            of_job["postage"] = of_job.get("postage", Decimal(0)) + row.cost
        if row.packing_cost:
            of_job["packing"] = of_job.get("packing", Decimal(0)) + row.packing_cost
    for key in unknown:
        found[key].pop("postage", None)
    return found


def came_of(
    agreed: Breakdown, received: Received | None, parcels: dict[str, Decimal] | None
) -> Came:
    """Return what really came of a job, beside what was agreed.

    The fees are those really taken. While a part is still open, the fees that were agreed stand
    for that part, in proportion.
    """
    received = received or Received()
    fees = received.fees
    owed = agreed.price if received.price is None else received.price
    if fees is not None and owed > received.paid and agreed.price:
        open_share = Fraction(owed - received.paid) / Fraction(agreed.price)
        fees += to_minor_unit(Fraction(agreed.fees) * open_share, agreed.currency)
    currency = agreed.currency
    return Came(
        price=_shown(received.price, currency),
        tax=_shown(received.tax, currency),
        fees=_shown(fees, currency),
        postage=parcels,
    )


def _shown(amount: Decimal | Fraction | None, currency: str) -> Decimal | None:
    return None if amount is None else to_minor_unit(amount, currency)
