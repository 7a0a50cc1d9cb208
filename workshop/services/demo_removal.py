"""The demo removed in one go: an empty workshop again, with logins, printers and a backup left."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils.translation import gettext as _

from workshop.backups import BackupError, backup_make
from workshop.models import (
    AuditEntry,
    Commission,
    Customer,
    DayOff,
    DaySettings,
    Doll,
    Hide,
    Knock,
    LoginLink,
    Member,
    PostDays,
    Printer,
    Quote,
    RecoveryCode,
    SecondFactor,
    Supply,
    WorkingDay,
    WorkshopProfile,
)
from workshop.services.demo import DEMO_FILE
from workshop.services.records import audit_write, fields_of

# People, and what says how this workshop works; the demo brings none of it.
STAYS = (Member, SecondFactor, RecoveryCode, LoginLink, Knock, Printer, WorkshopProfile)
STAYS += (DaySettings, WorkingDay, DayOff, PostDays)
COUNTED = (Customer, Doll, Commission, Quote, Hide, Supply)


@dataclass(frozen=True, slots=True)
class Going:
    """How many records of a kind go, and how many of them somebody made after the demo came."""

    name: str
    count: int
    made_since: int


def has_demo() -> bool:
    """Return whether the demo is loaded and not removed yet."""
    return WorkshopProfile.current().demo_from is not None


def going() -> list[Going]:
    """Return what the removal takes away, kind by kind."""
    rows = []
    for model in COUNTED:
        made = AuditEntry.objects.filter(record_kind=model._meta.model_name, before={})
        by_somebody = made.exclude(who=None).values("record_id").distinct().count()
        name = str(model._meta.verbose_name_plural)
        rows.append(Going(name, model.objects.count(), by_somebody))
    return rows


def demo_remove(*, by: AbstractBaseUser) -> Path:
    """Empty the workshop of the demo and of all that was tried out in it; return the backup.

    Logins, printers and working hours stay, and of the settings what was changed since.

    Raises
    ------
    ValidationError
        There is no demo, or no backup can be written; nothing is removed.
    """
    if not has_demo():
        raise ValidationError(_("The demo is not here any more; nothing was removed."))
    try:
        backup = backup_make(Path(settings.DATA_DIR) / "backups")
    except BackupError as error:
        raise ValidationError(
            _("Nothing was removed, as no backup could be written: %(fault)s") % {"fault": error}
        ) from None
    with transaction.atomic():
        profile = WorkshopProfile.objects.select_for_update().get(pk=1)
        if profile.demo_from is None:
            raise ValidationError(_("The demo is not here any more; nothing was removed."))
        # Records guard themselves one by one; here all go together, and their references are
        # checked when the whole is done.
        for model in apps.get_app_config("workshop").get_models(include_auto_created=True):
            if model not in STAYS:
                _empty(model)
        before = fields_of(profile)
        _forget_demo_settings(profile)
        audit_write(profile, by=by, action="demo removed", before=before)
    return backup


def _empty(model: type[models.Model]) -> None:
    rows = model._base_manager.all()
    if model is AuditEntry:
        kinds = [kept._meta.model_name for kept in STAYS if kept is not WorkshopProfile]
        rows = rows.exclude(record_kind__in=kinds)
    rows._raw_delete(rows.db)


def _forget_demo_settings(profile: WorkshopProfile) -> None:
    """Put settings that still read as the demo brought them back to a first start's own."""
    brought = tomllib.loads(DEMO_FILE.read_text(encoding="utf-8"))["workshop"]
    for name, value in brought.items():
        field = WorkshopProfile._meta.get_field(name)
        if getattr(profile, name) == field.to_python(value):
            setattr(profile, name, field.get_default())
    profile.demo_from = None
    profile.save()
