"""How any record is written: numbered, checked, saved and put on the trail."""

import datetime
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils.translation import gettext as _

from workshop.models import AuditEntry, Counter
from workshop.models.numbers import Numbered

NEWER = "newer"  # the code of a refusal: there is a newer version than the one begun with
SECRET_FIELDS = frozenset({"token_hash", "password"})


def plain(value: Any) -> Any:
    """Return a field's value as JSON can hold it."""
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return value


def fields_of(record: models.Model) -> dict[str, Any]:
    """Return a record's stored values by field, without what never goes on the trail."""
    left_out = SECRET_FIELDS.union(getattr(record, "NOT_ON_TRAIL", ()))
    return {
        field.attname: plain(getattr(record, field.attname))
        for field in record._meta.concrete_fields
        if field.attname not in left_out
    }


def columns_changed(record: models.Model, loaded: Mapping[str, Any]) -> list[str]:
    """Return the columns of a record that differ from what `fields_of` gave when it was read."""
    now = fields_of(record)
    fields = record._meta.concrete_fields
    return [f.name for f in fields if now.get(f.attname) != loaded.get(f.attname)]


def next_number(kind: str) -> int:
    """Return the next running number of a kind; call inside a transaction."""
    Counter.objects.get_or_create(kind=kind)
    counter = Counter.objects.select_for_update().get(kind=kind)
    counter.last += 1
    counter.save()
    return counter.last


def claim_number(kind: str, number: int) -> None:
    """Note that a number is taken, as an import may bring its own."""
    Counter.objects.get_or_create(kind=kind)
    Counter.objects.filter(kind=kind, last__lt=number).update(last=number)


@transaction.atomic
def record_save(
    record: models.Model,
    *,
    by: AbstractBaseUser | None,
    action: str = "",
    columns: Sequence[str] | None = None,
    loaded: Mapping[str, Any] | None = None,
) -> None:
    """Check and save one record, new or changed, with its audit row.

    With `columns`, only these of a stored record are written: what others changed of it in the
    meantime stays. With `loaded`, as `fields_of` gave it when the record was read, they are
    written only if nobody has changed them since.

    Raises
    ------
    django.core.exceptions.ValidationError
        A field or a constraint does not hold, or a column was changed since; nothing is stored.
    """
    is_new = record._state.adding
    before = {} if is_new else fields_of(_stored(record, locked=bool(loaded)))
    if loaded and not is_new:
        _refuse_changed(record, columns or (), before, loaded)
    if isinstance(record, Numbered):
        if record.number is None:
            record.number = next_number(record.code_letter)
        elif is_new:
            claim_number(record.code_letter, record.number)
    record.full_clean()
    if columns is None or is_new:
        record.save()
    else:
        record.save(update_fields=columns)
        record.refresh_from_db()
    audit_write(record, by=by, action=action or ("made" if is_new else "changed"), before=before)


def _stored(record: models.Model, *, locked: bool) -> models.Model:
    rows = type(record)._default_manager
    # Held until the change is written, so that of two at once the second sees the first's.
    return (rows.select_for_update() if locked else rows).get(pk=record.pk)


def _refuse_changed(
    record: models.Model,
    columns: Sequence[str],
    before: Mapping[str, Any],
    loaded: Mapping[str, Any],
) -> None:
    """Refuse to write columns that somebody has changed since the record was read."""
    attnames = {name: record._meta.get_field(name).attname for name in columns}
    changed = [name for name, attname in attnames.items() if before[attname] != loaded[attname]]
    if changed:
        said = _("Somebody changed this at the same moment. Save again to keep yours.")
        raise ValidationError(dict.fromkeys(changed, said))


def refuse_newer(newest: int, begun_from: int | None) -> None:
    """Refuse a new version that began with an older one; call while no other can be made.

    Raises
    ------
    django.core.exceptions.ValidationError
        Of code `NEWER`, with the newest version in its parameters.
    """
    if begun_from is not None and newest != begun_from:
        said = _(
            "Version %(version)d was made meanwhile. Look at it in another window; what stands here"
            " does not know of it. Save again to use yours nevertheless."
        )
        raise ValidationError(said, code=NEWER, params={"version": newest})


def audit_write(
    record: models.Model,
    *,
    by: AbstractBaseUser | None,
    action: str,
    before: dict[str, Any] | None = None,
    who_text: str = "",
) -> None:
    """Leave one audit row with what changed."""
    audit_row(record, by=by, action=action, before=before, who_text=who_text).save()


def audit_row(
    record: models.Model,
    *,
    by: AbstractBaseUser | None,
    action: str,
    before: dict[str, Any] | None = None,
    who_text: str = "",
) -> AuditEntry:
    """Return the audit row of a change, not stored yet; for writing many at once."""
    old, new = before or {}, fields_of(record)
    changed = [name for name in new if old.get(name) != new[name]]
    return AuditEntry(
        who=by,
        who_text=who_text or (by.get_username() if by is not None else "the app"),
        action=action,
        record_kind=record._meta.model_name,
        record_id=record.pk,
        record_text=str(record)[:200],
        before={name: old[name] for name in changed if name in old},
        after={name: new[name] for name in changed},
    )
