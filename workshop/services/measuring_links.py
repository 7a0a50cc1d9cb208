"""Links by which a customer measures: made, answered once, kept as a foot or asked again."""

import datetime
from collections.abc import Sequence
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import Doll, FootVersion, MeasuringLink
from workshop.services.records import audit_write, fields_of, record_save
from workshop.tokens import derived_token, token_hash

PURPOSE = "measure"
VALID_DAYS = 30
LONGEST_TOKEN = 200
OPEN_MOST = 10  # for one doll; an older one is closed before another is made
State = MeasuringLink.State


def measuring_token(link: MeasuringLink) -> str:
    """Return the token of a link."""
    return derived_token(PURPOSE, link.pk, 1)


def measuring_link_by_token(token: str) -> MeasuringLink | None:
    """Return the link that carries this token, or None."""
    if len(token) > LONGEST_TOKEN:
        return None
    links = MeasuringLink.objects.select_related("doll", "before")
    return links.filter(token_hash=token_hash(token)).first()


def is_over(link: MeasuringLink) -> bool:
    """Return whether its last day has passed, in the workshop's own zone."""
    return timezone.localdate() > link.valid_until


def link_refusal(link: MeasuringLink) -> str:
    """Return why a link takes no measures, or nothing while it does."""
    if link.state in (State.ANSWERED, State.KEPT):
        return _("These measures have arrived already. Thank you!")
    if link.state == State.CLOSED:
        return _("This link was closed; please write to the workshop.")
    if is_over(link):
        return _("This link was valid until %(day)s; please ask the workshop for a new one.") % {
            "day": link.valid_until.isoformat()
        }
    return ""


@transaction.atomic
def measuring_link_make(
    doll: Doll,
    *,
    by: AbstractBaseUser,
    words: str = "",
    asks: Sequence[str] = (),
    before: MeasuringLink | None = None,
) -> MeasuringLink:
    """Make a link for a doll; with ``before``, only some measures are asked again.

    Raises
    ------
    ValidationError
        Too many links of this doll are open, or the answer to ask again after is dealt with.
    """
    Doll.objects.select_for_update().get(pk=doll.pk)
    if before is not None:
        _move(before, State.ANSWERED, State.CLOSED, by=by, action="asked again")
    if MeasuringLink.objects.filter(doll=doll, state=State.OPEN).count() >= OPEN_MOST:
        raise ValidationError(
            _("%(n)s links of this doll wait for measures already; close one first.")
            % {"n": OPEN_MOST}
        )
    link = MeasuringLink(
        doll=doll,
        before=before,
        asks=list(asks),
        words=words,
        valid_until=timezone.localdate() + datetime.timedelta(days=VALID_DAYS),
        made_by=by,
    )
    record_save(link, by=by, action="asked for measures")
    MeasuringLink.objects.filter(pk=link.pk).update(token_hash=token_hash(measuring_token(link)))
    link.refresh_from_db()
    return link


@transaction.atomic
def measuring_link_answer(link: MeasuringLink, answer: dict[str, Any]) -> None:
    """Keep what a customer typed, once.

    Raises
    ------
    ValidationError
        The link was answered or closed, or its last day has passed; nothing is changed.
    """
    before = fields_of(link)
    answered = MeasuringLink.objects.filter(
        pk=link.pk, state=State.OPEN, valid_until__gte=timezone.localdate()
    ).update(state=State.ANSWERED, answer=answer, answered_at=timezone.now())
    link.refresh_from_db()
    if not answered:
        raise ValidationError(link_refusal(link))
    audit_write(link, by=None, action="measured", before=before, who_text="customer by link")


@transaction.atomic
def measuring_link_close(link: MeasuringLink, *, by: AbstractBaseUser) -> None:
    """Close a link, or put an answer aside."""
    _move(link, (State.OPEN, State.ANSWERED), State.CLOSED, by=by, action="closed")


@transaction.atomic
def measuring_link_keep(link: MeasuringLink, version: FootVersion, *, by: AbstractBaseUser) -> None:
    """Note which foot an answer became."""
    _move(link, State.ANSWERED, State.KEPT, by=by, action="kept", kept_as=version)


def _move(
    link: MeasuringLink,
    now: str | tuple[str, ...],
    to: str,
    *,
    by: AbstractBaseUser,
    action: str,
    **changes: object,
) -> None:
    before = fields_of(link)
    allowed = now if isinstance(now, tuple) else (now,)
    moved = MeasuringLink.objects.filter(pk=link.pk, state__in=allowed).update(state=to, **changes)
    link.refresh_from_db()
    if not moved:
        raise ValidationError(
            _("This is %(state)s by now; open the doll's page again.")
            % {"state": link.get_state_display()}
        )
    audit_write(link, by=by, action=action, before=before)
