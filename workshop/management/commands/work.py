"""Run the background worker, and start it afresh when it no longer takes work."""

import contextlib
import ctypes
import os
import select
import signal
import subprocess
import sys
import time
import uuid
from collections.abc import Callable
from types import FrameType

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import DatabaseError, close_old_connections
from django_q.tasks import async_task
from redis.exceptions import RedisError

from patterns.layout import warm_up
from workshop.drafting import stand_ins_missing
from workshop.handing_out import (
    STUCK_AFTER,
    hand_out_again,
    hand_out_lost,
    is_stuck,
    queue_answers,
)
from workshop.services.reservations import reservations_lapse
from workshop.work import WATCH

LOOK_EVERY_S = 2.0
STUCK_AFTER_S = STUCK_AFTER.total_seconds()
LOST_EVERY_S = 10.0
LAPSE_EVERY_S = 600.0
STOP_WITHIN_S = 15.0  # room for a layout under way to end
PR_SET_PDEATHSIG = 1  # linux/prctl.h


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
            _ask_for_stand_ins()
            call_command("qcluster", verbosity=0)
            return
        self.stop_by: float | None = None
        self.lapse_at = self.lost_at = time.monotonic() + LOOK_EVERY_S
        self.watch = ""
        self.queue = self._start()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        while self.stop_by is None:
            time.sleep(LOOK_EVERY_S)
            self._look()
            self._let_late_go()
            self._find_lost()
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
        if has_ended and not queue_answers():
            # No fault of the worker: it would take the web server down with it by giving up.
            if not self.was_away:
                self.was_away = True
                self.stderr.write("the queue cannot be reached; the worker starts once it answers")
            return
        # A negative code is a signal from outside, as when memory runs out.
        gave_up = has_ended and self.queue.returncode >= 0
        if gave_up and ran_s < STUCK_AFTER_S and not self.was_away:
            sys.exit("the background worker does not start")
        self.stderr.write("the background worker took no work; it is started afresh")
        self._end()
        self.queue = self._start()

    def _let_late_go(self) -> None:
        """Let go, now and then, what is reserved for jobs whose deposit is late."""
        if time.monotonic() < self.lapse_at:
            return
        self.lapse_at = time.monotonic() + LAPSE_EVERY_S
        _if_database_answers(reservations_lapse)

    def _find_lost(self) -> None:
        """Queue, now and then, what the queue has lost."""
        if time.monotonic() < self.lost_at:
            return
        self.lost_at = time.monotonic() + LOST_EVERY_S
        _if_database_answers(hand_out_lost)

    def _start(self) -> subprocess.Popen[bytes]:
        # One such command serves a queue in the database: what is locked there is lost work.
        hand_out_again(self.watch)
        self.watch = uuid.uuid4().hex
        self.was_away = False
        self.started_at = self.ready_at = time.monotonic()
        # The first start of all compiles the layout's search, which may take a minute; till then
        # the queue is not stuck but busy. The far end closes when that is done.
        self.told, tell = os.pipe()
        command = [sys.executable, sys.argv[0], "work", "--unwatched", f"--tell={tell}"]
        try:
            return subprocess.Popen(
                command,
                start_new_session=True,
                pass_fds=[tell],
                env={**os.environ, WATCH: self.watch},
            )
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


def _ask_for_stand_ins() -> None:
    """Have each style drawn once, so that the first price of a new foot can be estimated.

    One asks for the next when it is done: a maker's own work never waits behind all of them.
    """
    if settings.ESTIMATE_FIRST and (missing := stand_ins_missing()):
        with contextlib.suppress(RedisError):
            async_task("workshop.drafting.stand_ins_draw", missing)


def _if_database_answers(do: Callable[[], object]) -> None:
    """Do something; where the database is away for a moment the next time will do."""
    with contextlib.suppress(DatabaseError):
        close_old_connections()
        do()


def _end_with_parent() -> None:
    """Ask the system to end this process with its parent, where it can."""
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
