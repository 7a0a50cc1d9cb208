"""What the queue has lost is handed out again: recorded work is done though the queue forgot it.

The record is the truth, the queue only its way to a worker: work may be in it twice, or no more.
"""

import datetime
import logging

from django.conf import settings
from django.db.models import Q, QuerySet
from django.utils import timezone
from django_q.brokers import Broker, get_broker
from django_q.models import OrmQ
from redis.exceptions import RedisError

from workshop.models import BackgroundJob
from workshop.work import cut_off_before, work_enqueue

logger = logging.getLogger(__name__)

STUCK_AFTER = datetime.timedelta(seconds=15)
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
    cut_off = BackgroundJob.objects.filter(state=State.RUNNING)
    if "orm" in settings.Q_CLUSTER:
        cut_off.update(state=State.WAITING)
        OrmQ.objects.filter(lock__gt=now).update(lock=now)
    elif ended_watch:
        cut_off = cut_off.filter(watch=ended_watch)
        _hand_out_each(cut_off)
    hand_out_lost()


def hand_out_lost() -> None:
    """Queue what waits though the queue is empty, and what was cut off longer ago than work takes.

    So begins what was recorded while Redis could not be reached, and what a machine was at that
    is no more.
    """
    try:
        is_empty = _is_empty(get_broker())
    except RedisError as error:
        logger.warning("the queue cannot be reached: %s", error)
        return
    if is_empty or "orm" not in settings.Q_CLUSTER:
        # A queue in the database gives out again by itself what it has given out before.
        _hand_out_each(
            BackgroundJob.objects.filter(state=State.RUNNING, started_at__lt=cut_off_before())
        )
    if is_empty:
        then = timezone.now() - STUCK_AFTER
        waiting = BackgroundJob.objects.filter(state=State.WAITING, made_at__lt=then)
        _hand_out_each(waiting.filter(Q(handed_at=None) | Q(handed_at__lt=then)))


def _hand_out_each(lost: QuerySet[BackgroundJob]) -> None:
    """Put each of these into the queue anew; of several that look at once, one does."""
    for job_id in list(lost.order_by("pk").values_list("pk", flat=True)):
        now = timezone.now()
        if lost.filter(pk=job_id).update(state=State.WAITING, handed_at=now):
            # What its page said of a queue that was away holds no longer.
            BackgroundJob.objects.filter(pk=job_id, started_at=None).update(progress_text="")
            work_enqueue(job_id)


def _is_empty(broker: Broker) -> bool:
    """Return whether nothing is in the queue or given out by it, as far as it knows."""
    return not broker.queue_size() and not broker.lock_size()
