"""Whether the workshop can do its work: database, disk, queue, background worker."""

import datetime
import os
import shutil
from dataclasses import dataclass

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.handing_out import queue_answers
from workshop.models import BackgroundJob

FREE_LEAST_BYTES = 200 * 1024 * 1024  # a few backups of a small workshop: our own choice
WAITS_LONG = datetime.timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Sign:
    """One thing looked at: its name, whether it is well, and in words how it is."""

    name: str
    is_well: bool
    text: str


def signs_of_health() -> list[Sign]:
    """Return what was looked at; nothing of it is anybody's data."""
    database = _database()
    signs = [database, _disk()]
    if "redis" in settings.Q_CLUSTER:
        signs.append(_queue())
    if database.is_well:
        signs.append(_worker())
    return signs


def _database() -> Sign:
    name = _("Database")
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            cursor.fetchone()
    except DatabaseError:
        return Sign(name, False, _("does not answer"))
    return Sign(name, True, _("answers"))


def _disk() -> Sign:
    name = _("Disk")
    try:
        free = shutil.disk_usage(settings.DATA_DIR).free
    except OSError:
        return Sign(name, False, _("the data folder is not there"))
    if not os.access(settings.DATA_DIR, os.W_OK):
        return Sign(name, False, _("the data folder cannot be written to"))
    words = _("%(mb)d MB free") % {"mb": free // (1024 * 1024)}
    return Sign(name, free >= FREE_LEAST_BYTES, words)


def _queue() -> Sign:
    """Look at a queue apart from the database, where REDIS_URL names one."""
    name = _("Queue")
    if queue_answers():
        return Sign(name, True, _("Redis answers"))
    return Sign(
        name,
        False,
        _(
            "Redis (REDIS_URL) does not answer; new work waits in the database, nothing is lost,"
            " and it is handed out once Redis answers again"
        ),
    )


def _worker() -> Sign:
    name = _("Background work")
    waiting = BackgroundJob.objects.filter(state=BackgroundJob.State.WAITING)
    oldest = waiting.order_by("made_at").values_list("made_at", flat=True).first()
    if oldest is not None and timezone.now() - oldest > WAITS_LONG:
        minutes = int((timezone.now() - oldest).total_seconds() // 60)
        return Sign(
            name, False, _("waits for %(n)d minutes; is the worker running?") % {"n": minutes}
        )
    return Sign(name, True, _("%(n)d waiting") % {"n": waiting.count()})
