"""What became of a hide: recorded, reserved, released, cut, and what was kept of it."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import AuditEntry, Commission, Cutting, Hide, LeftPiece

SHOWN = 100
NOT_CUT = "not cut after all"  # as the trail has it


@dataclass(frozen=True, slots=True)
class HideEvent:
    """One thing that happened to a hide; ``also`` are the hides that came out of it.

    With a job, its code follows the words.
    """

    day: datetime.date
    words: str
    who: str = ""
    job: Commission | None = None
    cutting: Cutting | None = None
    also: tuple[Hide, ...] = ()


def hide_history(hide: Hide) -> list[HideEvent]:
    """Return a hide's history, the first thing first.

    What was done with it comes from the trail of changes; what was paid and other amounts are not
    part of it.
    """
    entries = AuditEntry.objects.filter(record_kind="hide", record_id=hide.pk).order_by("id")
    rows = list(entries[:SHOWN])
    jobs = _jobs(rows)
    events = [] if hide.lot.bought_on is None else [HideEvent(hide.lot.bought_on, _bought(hide))]
    cuttings = iter(hide.cuttings.select_related("commission").order_by("id"))
    for row in rows:
        # A cutting that was taken back is on the trail alone.
        is_cut = row.action == "cut"
        cutting = next(cuttings, None) if is_cut and not _taken_back(rows, row) else None
        event = _event(row, jobs, cutting)
        if event is not None:
            events.append(event)
        if cutting is not None and cutting.settled_at is not None:
            events.append(_settled(cutting))
    return sorted(events, key=lambda event: event.day)


def _jobs(rows: list[AuditEntry]) -> dict[int, Commission]:
    ids = {job for row in rows for job in (_job_id(row.before), _job_id(row.after)) if job}
    return Commission.objects.in_bulk(ids)


def _job_id(fields: dict[str, Any]) -> int | None:
    return fields.get("reserved_for_id")


def _taken_back(rows: list[AuditEntry], cut: AuditEntry) -> bool:
    """Return whether the next thing that was noted is that the hide was not cut after all."""
    after = [row.action for row in rows if row.pk > cut.pk]
    following = next((action for action in after if action in ("cut", NOT_CUT)), "")
    return following == NOT_CUT


def _event(
    row: AuditEntry, jobs: dict[int, Commission], cutting: Cutting | None
) -> HideEvent | None:
    job = jobs.get(_job_id(row.after) or 0) or jobs.get(_job_id(row.before) or 0)
    if cutting is not None:
        job = cutting.commission
    words = {
        "made": _("recorded"),
        "reserved": _("reserved for") if job else _("reserved"),
        "released": _("no longer reserved for") if job else _("no longer reserved"),
        "cut": _("cut for") if job else _("cut"),
        NOT_CUT: _("not cut after all, on the shelf again"),
    }.get(row.action)
    if words is None and "state" in row.after:
        # Noted on the hide's own page, without a job or a layout.
        words = _("noted as %(state)s") % {"state": Hide.State(row.after["state"]).label}
    elif words is None and "outline" in row.after:
        words = _("outline drawn again")
    if words is None:
        return None
    return HideEvent(timezone.localdate(row.at), words, row.who_text, job, cutting)


def _settled(cutting: Cutting) -> HideEvent:
    kept = LeftPiece.objects.filter(cutting=cutting, hide__isnull=False).select_related("hide")
    hides = tuple(piece.hide for piece in kept.defer("outline") if piece.hide is not None)
    words = _("what was left: kept") if hides else _("what was left: nothing kept")
    assert cutting.settled_at is not None
    return HideEvent(timezone.localdate(cutting.settled_at), words, also=hides, cutting=cutting)


def _bought(hide: Hide) -> str:
    if hide.remnant_of_id is not None:
        return _("bought, as part of the hide it was left of")
    return _("bought")
