"""Counting, in the background, how many pairs the hides in the stock give."""

from django.contrib.auth.models import AbstractBaseUser

from patterns.exchange.layout_file import document_from_request
from patterns.layout.values import LayoutRequest
from workshop.models import BackgroundJob
from workshop.selectors.leather_need import count_key
from workshop.work import LAYOUT_SEED, STOCK_PAIRS, work_start

SECONDS_TO_COUNT = 3  # for each hide; twenty of them end within the worker's time


def count_start(request: LayoutRequest, *, by: AbstractBaseUser) -> BackgroundJob:
    """Hand the counting of the pairs each hide of a request gives to the background worker."""
    inputs = {
        "instance": document_from_request(request),
        "seconds": SECONDS_TO_COUNT,
        "seed": LAYOUT_SEED,
    }
    return work_start(STOCK_PAIRS, inputs, key=count_key(request), by=by)
