"""The queue's worker as a thread beside the live server: takes waiting work and does it."""

import threading
from contextlib import contextmanager

from django.db import connections

from workshop.models import BackgroundJob
from workshop.work import run

LOOK_EVERY_S = 0.1


@contextmanager
def working():
    """Do waiting work until the block ends."""
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
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
