"""What becomes of a quote: its link, the customer's answer, questions, withdrawal."""

import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import Commission, Quote, QuoteMessage, WorkshopProfile
from workshop.services.quoting import link_token
from workshop.services.records import audit_write, fields_of
from workshop.services.reservations import supplies_reserve
from workshop.tokens import token_hash

BY_LINK = "link"
MOST_QUESTIONS = 20  # for one quote; an open form must not fill the disk
LONGEST_TOKEN = 200
LONGEST_ANSWER = 8000


def quote_by_token(token: str) -> Quote | None:
    """Return the quote whose link carries this token, or None."""
    if len(token) > LONGEST_TOKEN:
        return None
    return (
        Quote.objects.filter(token_hash=token_hash(token), link_revoked_at=None)
        .select_related("commission__customer", "commission__doll", "foot")
        .first()
    )


def is_expired(quote: Quote) -> bool:
    """Return whether the last day to accept has passed, in the workshop's own zone."""
    return timezone.localdate() > quote.valid_until


def quote_is_open(quote: Quote) -> bool:
    """Return whether the quote can still be accepted: it and its job are open."""
    return may_be_answered(quote) and not is_expired(quote)


def may_be_answered(quote: Quote) -> bool:
    """Return whether an answer given in time can still be typed in, whatever day it is now."""
    return (
        quote.state == Quote.State.OPEN
        and quote.commission.state in Commission.OPEN_TO_QUOTES
        and revised_by(quote) is None
    )


def revised_by(quote: Quote) -> Quote | None:
    """Return the later quote of the same job that took this one's place, None while there is none.

    One that was withdrawn or declined again takes nobody's place.
    """
    later = Quote.objects.filter(
        commission=quote.commission_id, version__gt=quote.version, state=Quote.State.OPEN
    )
    return later.defer(*Quote.LARGE).select_related("commission").order_by("-version").first()


@transaction.atomic
def quote_accept(
    quote: Quote,
    *,
    by: AbstractBaseUser | None,
    way: str = BY_LINK,
    note: str = "",
    on: datetime.date | None = None,
) -> None:
    """Accept a quote, once, whoever asks first; the supplies of its bill are reserved.

    What the shelf does not hold refuses nothing: it is missing on the job's reservation. ``on`` is
    the day the answer was given, today if left out; that day decides whether it came in time.

    Raises
    ------
    ValidationError
        It is expired, withdrawn, revised, declined or accepted already, or its job took another
        quote; or ``on`` cannot be the day.
    """
    _check_day(quote, on)
    before = fields_of(Commission.objects.get(pk=quote.commission_id))
    # The job decides first: of two quotes for it only one can find it still open.
    moved = Commission.objects.filter(
        pk=quote.commission_id, state__in=Commission.OPEN_TO_QUOTES
    ).update(state=Commission.State.ACCEPTED, deposit_pct=WorkshopProfile.current().deposit_pct)
    if not moved:
        quote.refresh_from_db()
        raise ValidationError(refusal(quote))
    if revised_by(quote) is not None:
        raise ValidationError(refusal(quote))
    _answer(quote, Quote.State.ACCEPTED, by=by, way=way, note=note, on=on)
    commission = Commission.objects.get(pk=quote.commission_id)
    audit_write(commission, by=by, action="accepted", before=before, who_text=_who(by))
    supplies_reserve(commission, by=by)


@transaction.atomic
def quote_decline(
    quote: Quote,
    *,
    by: AbstractBaseUser,
    way: str,
    note: str = "",
    on: datetime.date | None = None,
) -> None:
    """Note that the customer said no."""
    _check_day(quote, on)
    _answer(quote, Quote.State.DECLINED, by=by, way=way, note=note, on=on)


def _check_day(quote: Quote, on: datetime.date | None) -> None:
    """Refuse a day on which no answer can have been given."""
    if on is None:
        return
    if on > timezone.localdate():
        raise ValidationError({"on": _("That day has not come yet.")}, code="day_to_come")
    made_on = timezone.localdate(quote.made_at)
    if on < made_on:
        words = {"quote": quote.code, "day": made_on.isoformat()}
        raise ValidationError(
            {"on": _("%(quote)s was made on %(day)s; no answer can be older.") % words},
            code="day_before",
        )


def _answer(
    quote: Quote,
    state: str,
    *,
    by: AbstractBaseUser | None,
    way: str,
    note: str,
    on: datetime.date | None,
) -> None:
    # One guarded update decides; two answers at the same moment cannot both get through.
    before = fields_of(quote)
    answered = Quote.objects.filter(
        pk=quote.pk, state=Quote.State.OPEN, valid_until__gte=on or timezone.localdate()
    ).update(
        state=state,
        answered_at=timezone.now(),
        answered_on=on,
        answered_by=way,
        answer_note=note[:LONGEST_ANSWER],
    )
    quote.refresh_from_db()
    if not answered:
        raise ValidationError(refusal(quote))
    audit_write(quote, by=by, action=state, before=before, who_text=_who(by))


def refusal(quote: Quote) -> str:
    """Return why a quote cannot be accepted any more."""
    reasons = {
        Quote.State.ACCEPTED: _("This quote is accepted already."),
        Quote.State.DECLINED: _("This quote was declined."),
        Quote.State.WITHDRAWN: _("This quote was withdrawn."),
    }
    if quote.state in reasons:
        return reasons[quote.state]
    later = revised_by(quote)
    if later is not None:
        return _("This quote was revised: %(quote)s took its place.") % {"quote": later.code}
    if not is_expired(quote):
        return _("This job already goes by another quote, or it is closed.")
    return _("This quote was valid until %(day)s; please ask for a new one.") % {
        "day": quote.valid_until.isoformat()
    }


@transaction.atomic
def quote_withdraw(quote: Quote, *, by: AbstractBaseUser) -> None:
    """Take a quote back; its link then says so and shows nothing else."""
    before = fields_of(quote)
    if not Quote.objects.filter(pk=quote.pk, state=Quote.State.OPEN).update(
        state=Quote.State.WITHDRAWN
    ):
        quote.refresh_from_db()
        raise ValidationError(refusal(quote))
    quote.refresh_from_db()
    audit_write(quote, by=by, action="withdrawn", before=before)


@transaction.atomic
def quote_renew_link(quote: Quote, *, by: AbstractBaseUser) -> None:
    """Make a new link; the old one stops working at once."""
    before = fields_of(quote)
    quote.link_serial += 1
    quote.link_revoked_at = None
    quote.token_hash = token_hash(link_token(quote))
    quote.save(update_fields=["link_serial", "link_revoked_at", "token_hash"])
    audit_write(quote, by=by, action="new link", before=before)


@transaction.atomic
def quote_revoke_link(quote: Quote, *, by: AbstractBaseUser) -> None:
    """Close the link without another; the quote itself stays."""
    before = fields_of(quote)
    quote.link_revoked_at = timezone.now()
    quote.save(update_fields=["link_revoked_at"])
    audit_write(quote, by=by, action="link closed", before=before)


@transaction.atomic
def quote_ask(quote: Quote, *, text: str) -> QuoteMessage:
    """Keep a customer's question for the maker."""
    if not quote_is_open(quote):
        raise ValidationError(refusal(quote))
    if quote.messages.count() >= MOST_QUESTIONS:
        raise ValidationError(_("Please write to the workshop by mail; this page is full."))
    message = QuoteMessage(quote=quote, text=text)
    message.full_clean()
    message.save()
    audit_write(message, by=None, action="asked", who_text=_who(None))
    return message


def _who(by: AbstractBaseUser | None) -> str:
    return by.get_username() if by is not None else "customer by link"
