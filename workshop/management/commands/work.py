"""Run the background worker, and start it afresh when it no longer takes work."""

import contextlib
import ctypes
import datetime
import os
import select
import signal
import subprocess
import sys
import time
from types import FrameType

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import DatabaseError, close_old_connections
from django.utils import timezone
from django_q.models import OrmQ

from patterns.layout import warm_up
from workshop.models import BackgroundJob
from workshop.services.reservations import reservations_lapse
from workshop.work import work_enqueue

LOOK_EVERY_S = 2.0
STUCK_AFTER_S = 15.0
STUCK_AFTER = datetime.timedelta(seconds=STUCK_AFTER_S)
LAPSE_EVERY_S = 600.0
STOP_WITHIN_S = 15.0  # room for a layout under way to end
PR_SET_PDEATHSIG = 1  # linux/prctl.h
State = BackgroundJob.State


def is_stuck() -> bool:
    """Return whether work waits though none is being done.

    A worker killed while it waited for work takes the queue's lock with it, and no worker after it
    gets any; only a fresh start of the whole queue mends that.
    """
    now = timezone.now()
    lately = now - datetime.timedelta(seconds=settings.Q_CLUSTER["timeout"])
    if BackgroundJob.objects.filter(state=State.RUNNING, started_at__gt=lately).exists():
        return False
    just_ended = BackgroundJob.objects.filter(ended_at__gt=now - STUCK_AFTER)
    waiting = BackgroundJob.objects.filter(state=State.WAITING, made_at__lt=now - STUCK_AFTER)
    return waiting.exists() and not just_ended.exists()


def hand_out_again() -> None:
    """Let the queue hand out at once what it had given to a worker that is no more."""
    now = timezone.now()
    OrmQ.objects.filter(lock__gt=now).update(lock=now)
    # Work whose place in the queue is gone, as after a crash on the way there, gets a new one.
    if not OrmQ.objects.exists():
        lost = BackgroundJob.objects.filter(state=State.WAITING, made_at__lt=now - STUCK_AFTER)
        for job_id in lost.values_list("pk", flat=True):
            work_enqueue(job_id)


class Command(BaseCommand):
    """The queue under the workshop's own name, watched."""

    told: int | None  # readable once the queue is about to start
    help = "Run the background worker until it is stopped."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the switch by which the watched part is started."""
        parser.add_argument("--unwatched", action="store_true", help="the queue alone")
        parser.add_argument("--tell", type=int, help="closed when the queue starts")

    def handle(
        self, *args: object, unwatched: bool, tell: int | None = None, **options: object
    ) -> None:
        """Start the queue in a process of its own and watch it."""
        if unwatched:
            _end_with_parent()
            warm_up()  # before the queue's parts split off, so that each has the compiled code
            if tell is not None:
                os.close(tell)
            call_command("qcluster", verbosity=0)
            return
        self.stop_by: float | None = None
        self.lapse_at = time.monotonic() + LOOK_EVERY_S
        self.queue = self._start()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        while self.stop_by is None:
            time.sleep(LOOK_EVERY_S)
            self._look()
            self._let_late_go()
        # Its parts may have been struck each on its own and wait for one another for ever.
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.queue.wait(timeout=max(0.0, self.stop_by - time.monotonic()))
        self._end()

    def _look(self) -> None:
        """Start the queue afresh if it ended or gives out no work."""
        has_ended = self.queue.poll() is not None
        if not has_ended and self.told is not None and select.select([self.told], [], [], 0)[0]:
            os.close(self.told)
            self.told, self.ready_at = None, time.monotonic()
        is_ready = self.told is None
        ran_s = time.monotonic() - (self.ready_at if is_ready else self.started_at)
        if self.stop_by is not None or not (
            has_ended or (is_ready and ran_s > STUCK_AFTER_S and self._is_stuck())
        ):
            return
        if has_ended and ran_s < STUCK_AFTER_S:
            sys.exit("the background worker does not start")
        self.stderr.write("the background worker took no work; it is started afresh")
        self._end()
        self.queue = self._start()

    def _let_late_go(self) -> None:
        """Let go, now and then, what is reserved for jobs whose deposit is late."""
        if time.monotonic() < self.lapse_at:
            return
        self.lapse_at = time.monotonic() + LAPSE_EVERY_S
        with contextlib.suppress(DatabaseError):  # away for a moment: the next time will do
            close_old_connections()
            reservations_lapse()

    def _start(self) -> subprocess.Popen[bytes]:
        # One such command serves an installation on its own database: what is locked is lost work.
        hand_out_again()
        self.started_at = self.ready_at = time.monotonic()
        # The first start of all compiles the layout's search, which may take a minute; till then
        # the queue is not stuck but busy. The far end closes when that is done.
        self.told, tell = os.pipe()
        command = [sys.executable, sys.argv[0], "work", "--unwatched", f"--tell={tell}"]
        try:
            return subprocess.Popen(command, start_new_session=True, pass_fds=[tell])
        finally:
            os.close(tell)

    def _is_stuck(self) -> bool:
        try:
            close_old_connections()
            return is_stuck()
        except DatabaseError:
            return False  # the database is away for a moment; look again later

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.stop_by = time.monotonic() + STOP_WITHIN_S
        self.queue.terminate()

    def _end(self) -> None:
        """End the queue with all its parts, whatever state they are in."""
        if self.told is not None:
            os.close(self.told)
            self.told = None
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.queue.pid, signal.SIGKILL)
        self.queue.wait()


def _end_with_parent() -> None:
    """Ask the system to end this process with its parent, where it can."""
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
