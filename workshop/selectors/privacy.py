"""Customers whose last order is longer ago than the workshop means to keep them."""

import datetime

from django.db.models import DateTimeField, Exists, Max, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce, Greatest
from django.utils import timezone

from workshop.models import Commission, Customer, Kept
from workshop.services.privacy import OVER


def months_before(day: datetime.date, months: int) -> datetime.date:
    """Return the same day of a month so many months earlier, or that month's last day.

    >>> months_before(datetime.date(2031, 3, 31), 1)
    datetime.date(2031, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    last = (datetime.date(year + month // 11, (month + 1) % 12 + 1, 1) - datetime.timedelta(1)).day
    return datetime.date(year, month + 1, min(day.day, last))


def customers_past(months: int) -> QuerySet[Customer]:
    """Return customers with nothing in hand whose last order or first contact is that long ago."""
    day = months_before(timezone.localdate(), months)
    before = timezone.make_aware(datetime.datetime.combine(day, datetime.time()))
    not_over = Commission.objects.filter(customer=OuterRef("pk")).exclude(state__in=OVER)
    in_keeping = Kept.objects.filter(commission__customer=OuterRef("pk"), sent_back_on=None)
    made, finished = Max("commissions__made_at"), Max("commissions__finished_at")
    last = Greatest(
        "made_at",
        Coalesce(made, "made_at", output_field=DateTimeField()),
        Coalesce(finished, "made_at", output_field=DateTimeField()),
    )
    return (
        Customer.objects.filter(erased_at=None)
        .annotate(last_at=last)
        .filter(Q(last_at__lt=before) & ~Exists(not_over) & ~Exists(in_keeping))
    )
