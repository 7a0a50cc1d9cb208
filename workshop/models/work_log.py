"""What the work really took, stretch by stretch, and which timings a rate card has taken in."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Unchanging
from workshop.models.orders import Commission
from workshop.models.rates import WorkStepRow

MOST_MINUTES = Decimal(20_000)  # two weeks of baking and drying at most


class WorkLog(models.Model):
    """One stretch of work, or of waiting, on one step of a job; it runs while it has no minutes."""

    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="work"
    )
    step = models.CharField(_("step"), max_length=80)
    passive = models.BooleanField(_("waiting, not working"), default=False)
    worked_on = models.DateField(_("day"), default=timezone.localdate)
    started_at = models.DateTimeField(null=True, blank=True)
    stopped_at = models.DateTimeField(null=True, blank=True)
    minutes = models.DecimalField(
        _("minutes"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(MOST_MINUTES)],
    )
    by_hand = models.BooleanField(_("written by hand"), default=False)
    note = models.CharField(_("note"), max_length=200, blank=True)
    # The press of the button it began with: a press that is sent twice begins one stretch.
    start_key = models.CharField(
        max_length=43, unique=True, null=True, blank=True, editable=False, default=None
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("stretch of work")
        ordering = ["-id"]
        indexes = [models.Index(fields=["worked_on"], name="work_log_day")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(minutes__isnull=False)
                | models.Q(started_at__isnull=False, stopped_at=None),
                name="work_without_minutes_runs",
            ),
            models.CheckConstraint(
                condition=models.Q(minutes=None) | models.Q(minutes__gte=0),
                name="work_minutes_not_negative",
            ),
            models.UniqueConstraint(
                fields=["made_by"],
                condition=models.Q(minutes=None, passive=False),
                name="one_running_timer_a_person",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.commission.code} {self.step}"

    @property
    def is_running(self) -> bool:
        """Return whether its timer has not been stopped yet."""
        return self.minutes is None


class TimingTaken(Unchanging):
    """A job's timing of a step that a rate card's minutes were moved by; each moves them once."""

    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="+")
    step_row = models.ForeignKey(WorkStepRow, on_delete=models.PROTECT, related_name="timings")
    step = models.CharField(max_length=80)
    per = models.CharField(max_length=12)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["commission", "step", "per"], name="timing_is_taken_in_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.step}, {self.commission.code}"
