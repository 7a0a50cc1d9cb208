"""The queue's worker as a thread beside the live server: takes waiting work and does it."""

import re
import threading
from contextlib import contextmanager
from unittest import mock

from django.db import connections

from workshop.models import BackgroundJob
from workshop.work import KINDS, run

# What the leather station says once the pieces lie; before that it says "not laid out".
LAID_OUT = re.compile(r"(?<!not )laid out")
LOOK_EVERY_S = 0.1
LAYOUT_S = 2  # enough for one pair on a hide; a maker's own search takes its full time


def _laid_soon(inputs, report, is_stopped, lay_out=KINDS["layout"]):
    return lay_out({**inputs, "seconds": LAYOUT_S}, report, is_stopped)


@contextmanager
def working():
    """Do waiting work until the block ends; a layout is searched for two seconds."""
    over = threading.Event()

    def work():
        try:
            while not over.wait(LOOK_EVERY_S):
                for pk in BackgroundJob.objects.filter(state="waiting").values_list(
                    "pk", flat=True
                ):
                    run(pk)
        finally:
            connections.close_all()

    thread = threading.Thread(target=work, name="worker")
    with mock.patch.dict(KINDS, {"layout": _laid_soon}):
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()
