"""What the queue has lost is handed out again: recorded work is done though the queue forgot it.

The record is the truth, the queue only its way to a worker: work may be in it twice, or no more.
"""

import datetime
import logging

from django.conf import settings
from django.utils import timezone
from django_q.brokers import Broker, get_broker
from django_q.models import OrmQ
from redis.exceptions import RedisError

from workshop.models import BackgroundJob
from workshop.work import work_enqueue

logger = logging.getLogger(__name__)

STUCK_AFTER = datetime.timedelta(seconds=15)
CUT_OFF_LATE = datetime.timedelta(seconds=5)  # the queue ends what takes too long; then it is over
State = BackgroundJob.State


def queue_answers() -> bool:
    """Return whether the queue can be reached; one in the database is where the records are."""
    if "orm" in settings.Q_CLUSTER:
        return True
    try:
        return bool(get_broker().ping())
    except RedisError:
        return False


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


def hand_out_again(ended_watch: str = "") -> None:
    """Let the queue hand out at once what it had given to a worker that is no more.

    A queue in the database keeps what it gave out until it is done; one in Redis does not, so what
    the queue of the watch that has ended was at is put there anew.
    """
    now = timezone.now()
    OrmQ.objects.filter(lock__gt=now).update(lock=now)
    if ended_watch and "orm" not in settings.Q_CLUSTER:
        cut_off = BackgroundJob.objects.filter(state=State.RUNNING, watch=ended_watch)
        for job_id in cut_off.values_list("pk", flat=True):
            work_enqueue(job_id)
    hand_out_lost()


def hand_out_lost() -> None:
    """Queue what waits though the queue is empty, and what was cut off longer ago than work takes.

    So begins what was recorded while Redis could not be reached, and what a machine was at that
    is no more.
    """
    now = timezone.now()
    try:
        is_empty = _is_empty(get_broker())
    except RedisError as error:
        logger.warning("the queue cannot be reached: %s", error)
        return
    if is_empty or "orm" not in settings.Q_CLUSTER:
        # A queue in the database gives out again by itself what it has given out before.
        longest = datetime.timedelta(seconds=settings.Q_CLUSTER["timeout"]) + CUT_OFF_LATE
        cut_off = BackgroundJob.objects.filter(state=State.RUNNING, started_at__lt=now - longest)
        for job_id in list(cut_off.values_list("pk", flat=True)):
            # Of several that look at once one puts it there, and the next time is as far off.
            if cut_off.filter(pk=job_id).update(started_at=now):
                work_enqueue(job_id)
    if is_empty:
        waiting = BackgroundJob.objects.filter(state=State.WAITING, made_at__lt=now - STUCK_AFTER)
        for job_id in list(waiting.order_by("pk").values_list("pk", flat=True)):
            # What its page said of a queue that was away holds no longer.
            waiting.filter(pk=job_id, started_at=None).update(progress_text="")
            work_enqueue(job_id)


def _is_empty(broker: Broker) -> bool:
    """Return whether nothing is in the queue or given out by it, as far as it knows."""
    return not broker.queue_size() and not broker.lock_size()
