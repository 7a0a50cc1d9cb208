"""Long work in the background: handed to the queue, watched, stopped, run again.

The queue runs a job at least once. Everything a job leaves behind is its own record, whose result
is written once, so a job run twice does no harm.
"""

import hashlib
import logging
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django_q.tasks import async_task

from costing.errors import CostError
from patterns.drafting.effects import measuring_effects
from patterns.errors import LayoutError, PatternError
from patterns.exchange.layout_file import document_from_layout, request_from_document
from patterns.layout import (
    Layout,
    LayoutProgress,
    lay_out,
    layout_waste,
    only_asked,
    pairs_that_fit,
)
from patterns.layout.values import LayoutRequest
from patterns.style import load_style
from workshop.mesh_files import foot_read
from workshop.models import BackgroundJob
from workshop.size_runs import size_run
from workshop.strict_json import write_json

logger = logging.getLogger(__name__)

State = BackgroundJob.State
EFFECTS, SIZE_RUN, STOCK_PAIRS = "effects", "size run", "pairs in stock"
ARTICLE_PRICES = "article prices"
STOCK_LAYOUT = "stock layout"
Report = Callable[[int, str], None]
IsStopped = Callable[[], bool]

REPORT_EVERY_S = 0.4  # often enough to watch, rarely enough not to keep the database busy
MOST_ATTEMPTS = 3
LAYOUT_SEED = 1
LAYOUT_SHARE = 0.6  # of the time; the rest counts how many pairs the hide would give


class StoppedError(Exception):
    """Somebody asked the work to stop; raised out of its own progress report."""


def work_key(kind: str, inputs: Mapping[str, Any]) -> str:
    """Return the sha256 of the canonical inputs; equal work has an equal key."""
    return hashlib.sha256(kind.encode() + b"\n" + write_json(inputs, sort_keys=True)).hexdigest()


@transaction.atomic
def work_start(
    kind: str, inputs: Mapping[str, Any], *, key: str, by: AbstractBaseUser | None
) -> BackgroundJob:
    """Hand work to the queue, or return the same work if it is already on its way."""
    running = BackgroundJob.objects.filter(
        kind=kind, key=key, inputs=inputs, state__in=[State.WAITING, State.RUNNING]
    ).first()
    if running is not None:
        return running
    job = BackgroundJob.objects.create(kind=kind, key=key, inputs=inputs, made_by=by)
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
    """Put a piece of work into the queue; twice does no harm."""
    async_task("workshop.work.run", job_id)


def work_again(job: BackgroundJob, *, by: AbstractBaseUser | None) -> BackgroundJob:
    """Start work that failed or was stopped once more, as a new record."""
    return work_start(job.kind, job.inputs, key=job.key, by=by)


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


def run(job_id: int) -> None:
    """Do one piece of work; called by the queue."""
    # A job found running was cut off with its worker and is done again from the start.
    open_job = BackgroundJob.objects.filter(pk=job_id, state__in=[State.WAITING, State.RUNNING])
    started = open_job.filter(attempts__lt=MOST_ATTEMPTS).update(
        state=State.RUNNING, started_at=timezone.now(), attempts=F("attempts") + 1
    )
    if not started:
        # The queue would begin it again for ever: work that ends its worker each time is given up.
        fault = _("This was cut off each time it was begun. Try fewer pairs or a smaller hide.")
        open_job.update(state=State.FAILED, ended_at=timezone.now(), fault=fault)
        return
    job = BackgroundJob.objects.get(pk=job_id)
    watch = _Watch(job_id)
    try:
        result = KINDS[job.kind](job.inputs, watch.report, watch.is_stopped)
    except StoppedError:
        _end(job_id, State.STOPPED)
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


class _Watch:
    """Writes progress and reads the stop flag, both at most a few times a second."""

    def __init__(self, job_id: int) -> None:
        self._job_id = job_id
        self._stopped = False
        self._reported_at = self._looked_at = 0.0

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


def _run_layout(inputs: dict[str, Any], report: Report, is_stopped: IsStopped) -> dict[str, Any]:
    """Lay the pieces out, then see how many whole pairs the hide would give in all."""
    request = request_from_document(inputs["instance"])
    seconds = float(inputs["seconds"])

    def on_progress(progress: LayoutProgress) -> None:
        text = _("%(pairs)d pairs laid, %(used)d %% of the whole hide covered, try %(step)d") % {
            "pairs": progress.layout.complete_sets,
            "used": round(100 * progress.layout.density),
            "step": progress.step,
        }
        report(int(100 * LAYOUT_SHARE * progress.share), text)

    layout = lay_out(
        request,
        seed=int(inputs["seed"]),
        seconds=seconds * LAYOUT_SHARE,
        clock=time.monotonic,
        on_progress=on_progress,
        is_cancelled=is_stopped,
    )
    if not any(piece.per_set for piece in request.pieces):
        return layout_result(request, layout)  # pieces cut again make no pair
    report(int(100 * LAYOUT_SHARE), _("counting the pairs the whole hide gives"))
    pairs, most = pairs_that_fit(
        request,
        seed=int(inputs["seed"]),
        seconds=seconds * (1.0 - LAYOUT_SHARE),
        clock=time.monotonic,
        is_cancelled=is_stopped,
    )
    # Pieces fixed by hand stay, whatever else would give more pairs.
    if not request.fixed and layout.complete_sets < min(pairs, _pairs_asked(request)):
        layout = only_asked(request, most)
    return layout_result(request, layout, pairs_that_fit=pairs)


def _run_stock_layout(
    inputs: dict[str, Any], report: Report, is_stopped: IsStopped
) -> dict[str, Any]:
    """Lay the pieces of several lines out on the hides of their leather, a leather at a time."""
    parts = inputs["parts"]
    results = []
    for number, part in enumerate(parts):
        request = request_from_document(part["instance"])

        def on_progress(
            progress: LayoutProgress, *, number: int = number, leather: str = part["leather"]
        ) -> None:
            text = _("%(leather)s: %(placed)d of %(of)d pieces laid, try %(step)d") % {
                "leather": leather,
                "placed": progress.layout.placed,
                "of": progress.layout.requested,
                "step": progress.step,
            }
            report(int(100 * (number + progress.share) / len(parts)), text)

        layout = lay_out(
            request,
            seed=int(inputs["seed"]),
            seconds=float(inputs["seconds"]) / len(parts),
            clock=time.monotonic,
            on_progress=on_progress,
            is_cancelled=is_stopped,
        )
        if is_stopped():
            raise StoppedError
        results.append(layout_result(request, layout))
    return {"parts": results}


def layout_result(
    request: LayoutRequest, layout: Layout, *, pairs_that_fit: int = 0
) -> dict[str, Any]:
    """Return a layout with what it wastes, as the work of laying out leaves it behind."""
    waste = layout_waste(request, layout)
    return {
        "layout": document_from_layout(layout),
        "waste": {
            "used_area_mm2": waste.used_area_mm2,
            "occupied_area_mm2": waste.occupied_area_mm2,
            "waste_share": waste.waste_share,
            "usable_area_mm2": waste.usable_area_mm2,
            "pairs": waste.pairs,
            "pairs_that_fit": max(pairs_that_fit, waste.pairs),
        },
    }


def _run_stock_pairs(
    inputs: dict[str, Any], report: Report, is_stopped: IsStopped
) -> dict[str, Any]:
    """Count, by laying out, how many whole pairs each hide gives by itself."""
    request = request_from_document(inputs["instance"])
    pairs: dict[str, int] = {}
    for done, hide in enumerate(request.hides):
        if is_stopped():
            raise StoppedError
        report(100 * done // len(request.hides), hide.id)
        try:
            pairs[hide.id], _layout = pairs_that_fit(
                replace(request, hides=(hide,)),
                seed=int(inputs["seed"]),
                seconds=float(inputs["seconds"]),
                clock=time.monotonic,
                is_cancelled=is_stopped,
            )
        except LayoutError:
            pairs[hide.id] = 0  # a piece is larger than this hide
    return {"pairs": pairs}


def _pairs_asked(request: LayoutRequest) -> int:
    return max(
        (piece.quantity // piece.per_set for piece in request.pieces if piece.per_set), default=0
    )


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


def _run_articles(inputs: dict[str, Any], report: Report, is_stopped: IsStopped) -> dict[str, Any]:
    """Work out what every article for sale should cost today."""
    # Imported here: the road to a price hands its layouts to this module.
    from workshop.article_prices import price_articles

    def on_article(done: int, of: int, name: str) -> None:
        if is_stopped():
            raise StoppedError
        report(100 * done // of, name)

    return price_articles(inputs, on_article)


KINDS: dict[str, Callable[[dict[str, Any], Report, IsStopped], dict[str, Any]]] = {
    "layout": _run_layout,
    EFFECTS: _run_effects,
    SIZE_RUN: _run_sizes,
    STOCK_PAIRS: _run_stock_pairs,
    ARTICLE_PRICES: _run_articles,
    STOCK_LAYOUT: _run_stock_layout,
}
