"""When the workshop works, what waits for what, and in which order the open jobs are made."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from costing.day_plan import MOST_OVEN_PLACES
from workshop.models.orders import Commission
from workshop.read_once import read_once

MOST_DAYS = 365


class DaySettings(models.Model):
    """The one row with what a day plan needs besides the working hours."""

    oven_places = models.PositiveSmallIntegerField(
        _("jobs in the oven at once"),
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_OVEN_PLACES)],
    )
    delivery_days = models.PositiveSmallIntegerField(
        _("days until leather or supplies that are bought are here"),
        default=7,
        validators=[MaxValueValidator(MOST_DAYS)],
    )
    answer_days = models.PositiveSmallIntegerField(
        _("days a customer has for measures and deposit"),
        default=7,
        validators=[MaxValueValidator(MOST_DAYS)],
    )

    class Meta:
        verbose_name = _("settings of the day plan")

    def __str__(self) -> str:
        return str(_("settings of the day plan"))

    @classmethod
    @read_once
    def current(cls) -> "DaySettings":
        """Return the one row, or one with the first values that is not stored yet."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class WorkingDay(models.Model):
    """The hours of one weekday, with a break in them if the second stretch is given."""

    WEEKDAYS = [
        (0, _("Monday")),
        (1, _("Tuesday")),
        (2, _("Wednesday")),
        (3, _("Thursday")),
        (4, _("Friday")),
        (5, _("Saturday")),
        (6, _("Sunday")),
    ]

    weekday = models.PositiveSmallIntegerField(_("weekday"), choices=WEEKDAYS, unique=True)
    begins = models.TimeField(_("from"))
    ends = models.TimeField(_("to"))
    begins_again = models.TimeField(_("again from"), null=True, blank=True)
    ends_again = models.TimeField(_("to (2)"), null=True, blank=True)

    class Meta:
        verbose_name = _("working day")
        ordering = ["weekday"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends__gt=models.F("begins")), name="working_hours_end_later"
            ),
            models.CheckConstraint(
                condition=models.Q(begins_again=None, ends_again=None)
                | models.Q(
                    begins_again__gte=models.F("ends"), ends_again__gt=models.F("begins_again")
                ),
                name="second_hours_follow_the_first",
            ),
        ]

    def __str__(self) -> str:
        return str(self.get_weekday_display())


class DayOff(models.Model):
    """Days without work, from the first to the last."""

    first_on = models.DateField(_("first day"))
    last_on = models.DateField(_("last day"))
    note = models.CharField(_("why"), max_length=80, blank=True)

    class Meta:
        verbose_name = _("days off")
        ordering = ["first_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_on__gte=models.F("first_on")),
                name="days_off_end_later",
                violation_error_message=_("The last day lies before the first."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.first_on}, {self.last_on}"

    def clean(self) -> None:
        """Refuse a stretch that is years long, as a mistyped year makes it."""
        if self.first_on and self.last_on and (self.last_on - self.first_on).days > MOST_DAYS:
            raise ValidationError({"last_on": _("More than a year off: look at the year.")})


class PostDays(models.Model):
    """Days in the post to a country; no country means all without a line of their own."""

    country = models.CharField(_("country"), max_length=60, unique=True, blank=True)
    days = models.PositiveSmallIntegerField(
        _("days in the post"), validators=[MaxValueValidator(MOST_DAYS)]
    )

    class Meta:
        verbose_name = _("days in the post")
        ordering = ["country"]

    def __str__(self) -> str:
        return f"{self.country} {self.days}"


class StepPlace(models.Model):
    """Where a step of the rate card is done and on what, by its name."""

    class Where(models.TextChoices):
        """What a step takes up."""

        HANDS = "hands", _("by hand")
        OVEN = "oven", _("in the oven")
        DRYING = "drying", _("drying or cooling")

    class Part(models.TextChoices):
        """What it is done on; uppers and soles are made side by side."""

        WHOLE = "whole", _("whole shoe")
        UPPER = "upper", _("upper")
        SOLE = "sole", _("sole or heel")

    name = models.CharField(_("step"), max_length=80, unique=True)
    where = models.CharField(_("where"), max_length=6, choices=Where.choices)
    part = models.CharField(_("part"), max_length=5, choices=Part.choices)

    class Meta:
        verbose_name = _("place of a step")
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class JobTurn(models.Model):
    """Which turn an open job has among the others; those without one come last, oldest first."""

    commission = models.OneToOneField(
        Commission, verbose_name=_("job"), on_delete=models.CASCADE, related_name="turn"
    )
    position = models.PositiveIntegerField(_("turn"))

    class Meta:
        verbose_name = _("turn of a job")
        ordering = ["position", "id"]

    def __str__(self) -> str:
        return f"{self.commission.code} {self.position}"
