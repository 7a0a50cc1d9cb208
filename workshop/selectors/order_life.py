"""The life of a job: who took each step and when, and what is missing for the next, in words."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.models import AuditEntry, Commission, Hide, Quote, Repair, WorkLog
from workshop.selectors.payments import Account
from workshop.selectors.reservations import missing_count
from workshop.services.quotes import is_expired

State = Commission.State
ROAD = (
    State.ENQUIRY,
    State.MEASURED,
    State.QUOTED,
    State.ACCEPTED,
    State.IN_WORK,
    State.FINISHED,
    State.SENT,
)
ENDS = (State.DECLINED, State.WITHDRAWN)
IN_HAND = (State.ACCEPTED, State.IN_WORK, State.FINISHED)


@dataclass(frozen=True, slots=True)
class LifeStep:
    """One step of a job: whether it is behind it, who took it, and when; neither where unknown."""

    state: str
    name: str
    is_done: bool
    is_now: bool
    who: str = ""
    at: datetime.datetime | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that is missing: what, where it is seen to, and whether it holds the job up."""

    text: str
    address: str = ""
    is_needed: bool = True


@dataclass(frozen=True, slots=True)
class OrderLife:
    """The steps of a job in their order, and what is missing for the next."""

    steps: list[LifeStep]
    missing: list[Missing]
    next_name: str

    @property
    def needed(self) -> list[Missing]:
        """Return what holds the job up."""
        return [row for row in self.missing if row.is_needed]


def order_life(commission: Commission, account: Account, role: str) -> OrderLife:
    """Return a job's steps and what is missing; amounts only for those who may see money."""
    steps = list(_steps(commission))
    following = next((step for step in steps if not step.is_done and not step.is_now), None)
    is_over = commission.state in ENDS
    return OrderLife(
        steps,
        list(_missing(commission, account, role)),
        "" if is_over or following is None else following.name,
    )


@dataclass(frozen=True, slots=True)
class _Taken:
    who: str
    at: datetime.datetime
    note: str = ""


def _steps(commission: Commission) -> Iterator[LifeStep]:
    taken = _taken_from_trail(commission)
    taken.setdefault(State.ENQUIRY, _Taken("", commission.made_at))
    is_over = commission.state in ENDS
    # A job that ended shows the steps it took before, then how it ended.
    road = [s for s in ROAD if s in taken] if is_over else list(ROAD)
    at = len(road) if is_over else road.index(State(commission.state))
    if is_over:
        road.append(State(commission.state))
    for index, state in enumerate(road):
        step = taken.get(state)
        is_passed = index <= at
        yield LifeStep(
            state,
            str(state.label),
            is_done=is_passed and state != commission.state,
            is_now=state == commission.state,
            who=step.who if step is not None and is_passed else "",
            at=step.at if step is not None and is_passed else None,
            note=step.note if step is not None and is_passed else "",
        )


def _taken_from_trail(commission: Commission) -> dict[str, _Taken]:
    """Return who brought the job to each state and when; the latest time counts."""
    rows = AuditEntry.objects.filter(record_kind="commission", record_id=commission.pk)
    taken: dict[str, _Taken] = {}
    for row in rows.order_by("id"):
        if row.action == "taken in":
            taken[State.ENQUIRY] = _Taken(row.who_text, row.at)
        state = row.after.get("state")
        if state is not None and state != State.ENQUIRY:
            taken[state] = _Taken(row.who_text, row.at)
    ended = taken.get(commission.state) if commission.state in ENDS else None
    if ended is not None and commission.end_reason:
        taken[commission.state] = _Taken(ended.who, ended.at, commission.end_reason)
    quote = (
        Quote.objects.filter(commission=commission, state=Quote.State.ACCEPTED)
        .only("answered_on", "answered_by", "answered_at")
        .first()
    )
    accepted = taken.get(State.ACCEPTED)
    if quote is not None and accepted is not None and quote.answered_on is not None:
        words = {"way": quote.answered_by, "day": quote.answered_on.isoformat()}
        note = _("by %(way)s on %(day)s") % words
        taken[State.ACCEPTED] = _Taken(accepted.who, accepted.at, note)
    return taken


def _missing(commission: Commission, account: Account, role: str) -> Iterator[Missing]:
    """Return what is missing, what holds the next step up at first."""
    before_acceptance = {
        State.ENQUIRY: _missing_of_enquiry,
        State.MEASURED: _missing_of_measured,
        State.QUOTED: _missing_of_quoted,
    }
    state = State(commission.state)
    if state in before_acceptance:
        yield from before_acceptance[state](commission, role)
    elif state == State.ACCEPTED:
        yield from _missing_of_accepted(commission, account, role)
    elif state == State.IN_WORK:
        yield from _missing_of_work(commission)
    elif state == State.FINISHED:
        yield from _missing_of_finished(commission, account, role)
    yield from _missing_money(commission, account, role)
    yield from _missing_goods(commission)
    if state in (State.IN_WORK, State.FINISHED, State.SENT):
        yield from _missing_of_cutting(commission)


def _missing_of_enquiry(commission: Commission, role: str) -> Iterator[Missing]:
    if commission.doll_id is None:
        return  # pairs for the shelf are made in the sizes of its own lines
    address = f"{reverse('foot-new', args=[commission.doll_id])}?job={commission.pk}"
    yield Missing(_("The doll has no measures yet."), address)


def _missing_of_measured(commission: Commission, role: str) -> Iterator[Missing]:
    if hasattr(commission, "repair"):
        address = reverse("repair", args=[commission.pk])
        yield Missing(_("No price is given yet: write minutes and material down."), address)
    else:
        yield Missing(_("No quote is saved yet: choose style and leather, and save it."))


def _missing_of_quoted(commission: Commission, role: str) -> Iterator[Missing]:
    if hasattr(commission, "repair"):
        address = reverse("repair", args=[commission.pk])
        yield Missing(_("The customer's answer is not here yet; type it in."), address)
        return
    quotes = Quote.objects.filter(commission=commission, state=Quote.State.OPEN)
    quote = quotes.defer(*Quote.LARGE).order_by("-version").first()
    if quote is None:
        yield Missing(_("No quote is open: the last one was declined or withdrawn. Save another."))
        return
    address = reverse("quote", args=[quote.pk]) if role in MONEY else ""
    words = {"quote": quote.code, "day": quote.valid_until.isoformat()}
    if is_expired(quote):
        yield Missing(
            _("%(quote)s was valid until %(day)s. Save another, or type in an answer that came in"
              " time.") % words,
            address,
        )  # fmt: skip
    else:
        yield Missing(
            _("The customer's answer to %(quote)s, valid until %(day)s.") % words, address
        )


def _missing_of_accepted(commission: Commission, account: Account, role: str) -> Iterator[Missing]:
    deposit = account.deposit_open
    if deposit is not None:
        text = _("The deposit is not here.")
        if role in MONEY:
            text = _("Of the deposit %(amount)s are missing.") % {
                "amount": _money(deposit, account.currency)
            }
        yield Missing(text, _payments_address(commission, role))
    short = missing_count(commission)
    if short:
        yield Missing(
            _("Supplies that are short on the shelf: %(n)d.") % {"n": short},
            reverse("job-reserved", args=[commission.pk]),
        )
    is_made = not hasattr(commission, "repair") and commission.doll_id is not None
    if is_made and not commission.hides_reserved.exists() and not commission.cuttings.exists():
        yield Missing(
            _("No hide is kept for it."),
            reverse("job-leather", args=[commission.pk]),
            is_needed=False,
        )


def _missing_of_cutting(commission: Commission) -> Iterator[Missing]:
    """Return the hides that are kept for a job and not noted as cut."""
    cut_list = commission.cut_lists.order_by("-id").first()
    name = "job-leather" if cut_list is None else "cut-list"
    for hide in commission.hides_reserved.exclude(state=Hide.State.CUT):
        yield Missing(
            _("%(hide)s is not noted as cut yet: tick its pieces, then say what is left of it.")
            % {"hide": hide.code},
            reverse(name, args=[commission.pk]),
            is_needed=False,
        )


def _missing_of_work(commission: Commission) -> Iterator[Missing]:
    log = reverse("work-log", args=[commission.pk])
    stretches = WorkLog.objects.filter(commission=commission)
    if stretches.filter(minutes=None).exists():
        yield Missing(_("A timer still runs on it."), log)
    elif not stretches.exists():
        yield Missing(_("No work is written down yet."), log, is_needed=False)
    short = missing_count(commission)
    if short:
        yield Missing(
            _("Supplies that are short on the shelf: %(n)d.") % {"n": short},
            reverse("job-reserved", args=[commission.pk]),
            is_needed=False,
        )


def _missing_of_finished(commission: Commission, account: Account, role: str) -> Iterator[Missing]:
    if account.owed and account.standing_bill is None and role in MONEY:
        yield Missing(_("No bill is issued yet."), reverse("job-payments", args=[commission.pk]))
    if not commission.parcels.exists():
        yield Missing(
            _("No parcel is written down yet."), reverse("job-parcels", args=[commission.pk])
        )


def _missing_money(commission: Commission, account: Account, role: str) -> Iterator[Missing]:
    """Return what is open of a job that is made, and what is to be given back."""
    if role not in MONEY:
        return
    address = _payments_address(commission, role)
    if account.to_give_back:
        yield Missing(
            _("%(amount)s were paid beyond what is owed and are to be given back.")
            % {"amount": _money(account.to_give_back, account.currency)},
            address,
        )
    elif account.open > 0 and commission.state in (State.FINISHED, State.SENT):
        yield Missing(
            _("%(amount)s are still open.") % {"amount": _money(account.open, account.currency)},
            address,
        )


def _missing_goods(commission: Commission) -> Iterator[Missing]:
    """Return the customer's goods that are still here when the job is over or about to be."""
    if commission.state in (*ENDS, State.FINISHED, State.SENT):
        for row in commission.kept.filter(sent_back_on=None):
            yield Missing(
                _("%(what)s, the customer's, is still here.") % {"what": row.what},
                reverse("job-kept", args=[commission.pk]),
            )


def _payments_address(commission: Commission, role: str) -> str:
    return reverse("job-payments", args=[commission.pk]) if role in MONEY else ""


def _money(amount: Decimal, currency: str) -> str:
    return f"{amount:f} {currency}"


def repairs_after(commission: Commission) -> Iterable[Repair]:
    """Return the alterations, repairs and remakes of an order, newest first."""
    return commission.repairs.select_related("commission").order_by("-id")
