"""Long work in the background: handed to the queue, watched, stopped, run again.

The queue runs a job at least once. Everything a job leaves behind is its own record, whose result
is written once, so a job run twice does no harm.
"""

import hashlib
import logging
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django_q.tasks import async_task
from redis.exceptions import RedisError

from costing.errors import CostError
from patterns.drafting.effects import measuring_effects
from patterns.errors import PatternError
from patterns.style import load_style
from workshop.layout_work import (
    IsStopped,
    Report,
    StoppedError,
    run_layout,
    run_stock_layout,
    run_stock_pairs,
)
from workshop.library_work import LIBRARY_IMPORT, run_library_import
from workshop.mesh_files import foot_read
from workshop.models import BackgroundJob
from workshop.size_runs import size_run
from workshop.strict_json import write_json

logger = logging.getLogger(__name__)

State = BackgroundJob.State
EFFECTS, SIZE_RUN, STOCK_PAIRS = "effects", "size run", "pairs in stock"
ARTICLE_PRICES = "article prices"
STOCK_LAYOUT = "stock layout"
ORDER_PAPERS, SHEETS = "order papers", "cutting sheets"
REPORT_EVERY_S = 0.4  # often enough to watch, rarely enough not to keep the database busy
MOST_ATTEMPTS = 3
CUT_OFF_LATE = timedelta(seconds=5)  # the queue ends what takes too long; then it is over
WATCH = "WORKSHOP_WATCH"  # in the environment of a watched queue: which one it is
LAYOUT_SEED = 1
PIECE_S = 60.0  # work done in pieces lets others have their turn after that, well within the limit
KEEP_EVERY_S = 5.0
SO_FAR_COUNTS = timedelta(hours=1)  # later, leather or fees may cost something else


class PieceDoneError(Exception):
    """A piece of longer work is done; what is so far done is kept, and the rest is queued again."""


def work_key(kind: str, inputs: Mapping[str, Any]) -> str:
    """Return the sha256 of the canonical inputs; equal work has an equal key."""
    return hashlib.sha256(kind.encode() + b"\n" + write_json(inputs, sort_keys=True)).hexdigest()


@transaction.atomic
def work_start(
    kind: str,
    inputs: Mapping[str, Any],
    *,
    key: str,
    by: AbstractBaseUser | None,
    so_far: Mapping[str, Any] | None = None,
) -> BackgroundJob:
    """Hand work to the queue, or return the same work if it is already on its way.

    Work done in pieces goes on from ``so_far``, what the same work had done when it ended.
    """
    running = BackgroundJob.objects.filter(
        kind=kind, key=key, inputs=inputs, state__in=[State.WAITING, State.RUNNING]
    ).first()
    if running is not None:
        return running
    job = BackgroundJob.objects.create(kind=kind, key=key, inputs=inputs, so_far=so_far, made_by=by)
    transaction.on_commit(lambda: work_enqueue(job.pk))
    return job


def work_done(
    kind: str,
    inputs: Mapping[str, Any],
    result: Mapping[str, Any],
    *,
    key: str,
    by: AbstractBaseUser | None,
) -> BackgroundJob:
    """Record work that somebody has done by hand; from now on it is what that key gives."""
    now = timezone.now()
    return BackgroundJob.objects.create(
        kind=kind,
        key=key,
        inputs=inputs,
        result=result,
        state=State.DONE,
        progress_percent=100,
        made_by=by,
        started_at=now,
        ended_at=now,
    )


def work_enqueue(job_id: int) -> None:
    """Put a piece of work into the queue; twice does no harm.

    While a queue apart from the database cannot be reached, the work stays recorded as waiting,
    and its page says so;
    whoever watches the queue puts it there later (`handing_out.hand_out_lost`).
    """
    try:
        async_task("workshop.work.run", job_id)
    except RedisError as error:
        logger.warning("work %s waits: the queue cannot be reached: %s", job_id, error)
        said = _(
            "The queue (REDIS_URL) cannot be reached. Nothing is lost: this begins by itself once"
            " it answers again."
        )
        BackgroundJob.objects.filter(pk=job_id, state=State.WAITING).update(
            progress_text=said[:200]
        )


def work_again(job: BackgroundJob, *, by: AbstractBaseUser | None) -> BackgroundJob:
    """Start work that failed or was stopped once more, as a new record; kept pieces stay done."""
    return work_start(job.kind, job.inputs, key=job.key, by=by, so_far=job.so_far)


def work_stop(job: BackgroundJob) -> None:
    """Ask work to stop; it does at its next step, and at once what nobody is doing."""
    now = timezone.now()
    # The queue ends what takes longer than its timeout: older work was cut off with its worker.
    oldest = now - timedelta(seconds=settings.Q_CLUSTER["timeout"])
    idle = BackgroundJob.objects.filter(pk=job.pk).filter(
        Q(state=State.WAITING) | Q(state=State.RUNNING, started_at__lt=oldest)
    )
    if not idle.update(state=State.STOPPED, stop_asked=True, ended_at=now):
        BackgroundJob.objects.filter(pk=job.pk, state=State.RUNNING).update(stop_asked=True)


def work_found(kind: str, key: str) -> BackgroundJob | None:
    """Return the newest finished work of that key, or None."""
    return (
        BackgroundJob.objects.filter(kind=kind, key=key, state=State.DONE).order_by("-id").first()
    )


def work_latest(kind: str, key: str) -> BackgroundJob | None:
    """Return the newest work of that key in any state, or None."""
    return BackgroundJob.objects.filter(kind=kind, key=key).order_by("-id").first()


def cut_off_before() -> datetime:
    """Return since when work that is still running has lost its worker: the queue ends it first."""
    return timezone.now() - timedelta(seconds=settings.Q_CLUSTER["timeout"]) - CUT_OFF_LATE


def run(job_id: int) -> None:
    """Do one piece of work; called by the queue, more than once if work is in it twice."""
    # What somebody is at is left to them; what was cut off long ago is done again.
    open_job = BackgroundJob.objects.filter(pk=job_id).filter(
        Q(state=State.WAITING) | Q(state=State.RUNNING, started_at__lt=cut_off_before())
    )
    started = open_job.filter(attempts__lt=MOST_ATTEMPTS).update(
        state=State.RUNNING,
        started_at=timezone.now(),
        attempts=F("attempts") + 1,
        watch=os.environ.get(WATCH, ""),
    )
    if not started:
        # The queue would begin it again for ever: work that ends its worker each time is given up.
        fault = _("This was cut off each time it was begun. Try fewer pairs or a smaller hide.")
        open_job.update(state=State.FAILED, ended_at=timezone.now(), fault=fault)
        return
    job = BackgroundJob.objects.get(pk=job_id)
    watch = _Watch(job_id)
    try:
        if job.kind in IN_PIECES:
            result = IN_PIECES[job.kind](job.inputs, job.so_far or {}, watch)
        else:
            result = KINDS[job.kind](job.inputs, watch.report, watch.is_stopped)
    except StoppedError:
        _end(job_id, State.STOPPED)
    except PieceDoneError:
        _go_on(job_id)
    except (PatternError, CostError) as error:
        _end(job_id, State.FAILED, fault=str(error)[:1000])
    except Exception:
        logger.exception("background work %s failed", job_id)
        fault = _("A fault of ours stopped this; the server's log says more. It can be run again.")
        _end(job_id, State.FAILED, fault=fault)
    else:
        if watch.is_stopped():
            _end(job_id, State.STOPPED)
        else:
            _end(job_id, State.DONE, result=result, progress_percent=100)


def _end(job_id: int, state: str, **values: object) -> None:
    """Write how it ended, once: a job already over is left as it is."""
    BackgroundJob.objects.filter(pk=job_id, state=State.RUNNING).update(
        state=state, ended_at=timezone.now(), **values
    )


def _go_on(job_id: int) -> None:
    """Queue the rest of work done in pieces behind what waits already, unless it is to stop."""
    running = BackgroundJob.objects.filter(pk=job_id, state=State.RUNNING)
    if running.filter(stop_asked=False).update(state=State.WAITING, attempts=0):
        work_enqueue(job_id)
    else:
        _end(job_id, State.STOPPED)


class _Watch:
    """Writes progress and reads the stop flag, both at most a few times a second."""

    def __init__(self, job_id: int) -> None:
        self._job_id = job_id
        self._stopped = False
        self._reported_at = self._looked_at = 0.0
        self._begun_at = self._kept_at = time.monotonic()

    def keep(self, so_far: Mapping[str, Any], *, now: bool = False) -> None:
        """Keep what is done so far now and then, and end the piece when its time is up."""
        at = time.monotonic()
        is_up = at - self._begun_at >= PIECE_S
        if now or is_up or at - self._kept_at >= KEEP_EVERY_S:
            self._kept_at = at
            # It got further, so that being cut off later does not count as never getting anywhere.
            BackgroundJob.objects.filter(pk=self._job_id, state=State.RUNNING).update(
                so_far=so_far, attempts=1
            )
        if is_up and not now:
            raise PieceDoneError

    def report(self, percent: int, text: str) -> None:
        now = time.monotonic()
        if now - self._reported_at < REPORT_EVERY_S:
            return
        self._reported_at = now
        BackgroundJob.objects.filter(pk=self._job_id, state=State.RUNNING).update(
            progress_percent=max(0, min(99, percent)), progress_text=text[:200]
        )

    def is_stopped(self) -> bool:
        now = time.monotonic()
        if not self._stopped and now - self._looked_at >= REPORT_EVERY_S:
            self._looked_at = now
            row = BackgroundJob.objects.filter(pk=self._job_id).values_list("stop_asked", "state")
            asked, state = row.first() or (True, State.STOPPED)
            self._stopped = asked or state != State.RUNNING
        return self._stopped


def _run_effects(inputs: dict[str, Any], report: Report, is_stopped: IsStopped) -> dict[str, Any]:
    """Draw the pieces once for each measure moved by its error."""

    def on_progress(done: int, of: int) -> None:
        if is_stopped():
            raise StoppedError
        report(100 * done // of, _("measure %(done)d of %(of)d") % {"done": done + 1, "of": of})

    effects = measuring_effects(
        foot_read(inputs["foot"]),
        load_style(inputs["style"]),
        inputs["values"],
        error_mm=float(inputs["error_mm"]),
        progress=on_progress,
    )
    return {"effects": [asdict(effect) for effect in effects]}


def _run_sizes(inputs: dict[str, Any], report: Report, is_stopped: IsStopped) -> dict[str, Any]:
    """Draft one style over many feet and lay each piece's outlines over one another."""

    def on_progress(done: int, of: int, name: str) -> None:
        if is_stopped():
            raise StoppedError
        report(100 * done // of, name)

    return size_run(inputs, on_progress)


def _price_articles(
    inputs: dict[str, Any], so_far: Mapping[str, Any], watch: _Watch
) -> dict[str, Any]:
    """Work out what every article for sale should cost today, in pieces."""
    # Imported here: the road to a price hands its layouts to this module.
    from workshop.article_prices import price_articles, rates_now

    kept: dict[str, Any] = {"begun": timezone.now().isoformat(), "rates": rates_now(), "rows": {}}
    begun = datetime.fromisoformat(so_far["begun"]) if so_far else timezone.now() - SO_FAR_COUNTS
    if timezone.now() - begun < SO_FAR_COUNTS and so_far["rates"] == kept["rates"]:
        kept = {**so_far}

    def on_article(done: int, of: int, name: str) -> None:
        if watch.is_stopped():
            watch.keep(kept, now=True)
            raise StoppedError
        words = {"done": done, "of": of, "name": name}
        watch.report(100 * done // of, _("%(done)d of %(of)d priced, %(name)s") % words)

    return price_articles(inputs, on_article, rows=kept["rows"], on_priced=lambda: watch.keep(kept))


def _pack_order(inputs: dict[str, Any], report: Report, is_stopped: IsStopped) -> dict[str, Any]:
    """Put every paper of an order into one ZIP."""
    from workshop.paper_work import run_bundle

    def on_file(percent: int, name: str) -> None:
        if is_stopped():
            raise StoppedError
        report(percent, name)

    return run_bundle(inputs, on_file)


def _draw_sheets(
    inputs: dict[str, Any], so_far: Mapping[str, Any], watch: _Watch
) -> dict[str, Any]:
    """Draw the cutting sheets of many quotes as one PDF, in pieces."""
    from workshop.paper_work import run_sheets

    def on_sheet(done: int, of: int, name: str, kept: Mapping[str, Any]) -> None:
        if watch.is_stopped():
            watch.keep(kept, now=True)
            raise StoppedError
        words = {"done": done, "of": of, "name": name}
        watch.report(100 * done // of, _("%(done)d of %(of)d drawn, %(name)s") % words)
        watch.keep(kept)

    return run_sheets(inputs, so_far, on_sheet)


KINDS: dict[str, Callable[[dict[str, Any], Report, IsStopped], dict[str, Any]]] = {
    "layout": run_layout,
    EFFECTS: _run_effects,
    SIZE_RUN: _run_sizes,
    STOCK_PAIRS: run_stock_pairs,
    STOCK_LAYOUT: run_stock_layout,
    ORDER_PAPERS: _pack_order,
    LIBRARY_IMPORT: run_library_import,
}
# These keep what they have done, and go on from there when they are run again.
IN_PIECES: dict[str, Callable[[dict[str, Any], Mapping[str, Any], _Watch], dict[str, Any]]] = {
    ARTICLE_PRICES: _price_articles,
    SHEETS: _draw_sheets,
}
