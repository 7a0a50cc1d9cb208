"""The forms of working hours, days off, days in the post and places of steps, in rows."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.forms.places import RowForm
from workshop.models import DayOff, DaySettings, PostDays, StepPlace, WorkingDay
from workshop.selectors.day_plan import hours_in_use, step_places_shown
from workshop.selectors.places import ANYWHERE_ELSE

SPARE_ROWS = 3
DAYS_OFF_MOST = 100
POST_MOST = 250
STEPS_MOST = 80
HOURS = ("begins", "ends", "begins_again", "ends_again")
MOST_TURN = 100_000


class ClockInput(forms.TimeInput):
    """A time of day as the browser asks for it."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


def _day_input() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class DaySettingsForm(forms.ModelForm):
    """The oven, deliveries and how long a customer may take."""

    class Meta:
        model = DaySettings
        fields = ["oven_places", "delivery_days", "answer_days"]
        help_texts = {
            "oven_places": gettext_lazy("Only what bakes at the same heat and time together."),
            "delivery_days": gettext_lazy("Counted from the day measures and deposit are here."),
            "answer_days": gettext_lazy("“… if measures and deposit are here by” this many days."),
        }


class WorkingDayForm(forms.ModelForm):
    """The hours of one weekday; left empty, no work is done on it."""

    class Meta:
        model = WorkingDay
        fields = list(HOURS)
        widgets = dict.fromkeys(HOURS, ClockInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.required = False

    @property
    def is_filled(self) -> bool:
        """Return whether any time was typed."""
        return any(self.cleaned_data.get(name) is not None for name in HOURS)

    def clean(self) -> dict[str, Any]:
        """Refuse hours that are half said, end before they begin, or overlap."""
        data = super().clean()
        if not self.is_filled or self.errors:
            return data
        begins, ends, again, ends_again = (data.get(name) for name in HOURS)
        for name, value in (("begins", begins), ("ends", ends)):
            if value is None:
                self.add_error(name, _("Give both times, or empty the day."))
        if begins and ends and ends <= begins:
            self.add_error("ends", _("The hours end before they begin."))
        if (again is None) != (ends_again is None):
            self.add_error(
                "ends_again" if again is not None else "begins_again",
                _("Give both times after the break, or neither."),
            )
        elif again is not None and ends_again is not None:
            if ends_again <= again:
                self.add_error("ends_again", _("The hours end before they begin."))
            if ends and again < ends:
                self.add_error("begins_again", _("Work begins again before the break."))
        return data

    def _get_validation_exclusions(self) -> set[str]:
        """Leave what the database holds to the record; the form has said it in words already."""
        return {*super()._get_validation_exclusions(), "weekday", *HOURS}


class DayOffForm(RowForm):
    """Days without work that are not over."""

    needed = ("first_on",)

    class Meta:
        model = DayOff
        fields = ["first_on", "last_on", "note"]
        widgets = {"first_on": _day_input(), "last_on": _day_input()}

    def clean(self) -> dict[str, Any]:
        """Take one day for a single one; refuse days that are over."""
        data = super().clean()
        first, last = data.get("first_on"), data.get("last_on")
        if first is None and last is not None and "first_on" not in self.errors:
            self.add_error("first_on", _("Give the first day too."))
        if first is None or "last_on" in self.errors:
            return data
        last = data["last_on"] = last or first
        if last < first:
            self.add_error("last_on", _("The last day lies before the first."))
        elif last < timezone.localdate():
            self.add_error("first_on", _("These days are over; give today or later days."))
        return data


class PostDaysForm(RowForm):
    """Days in the post to one country."""

    needed = ("country", "days")

    class Meta:
        model = PostDays
        fields = ["country", "days"]

    def validate_unique(self) -> None:
        """Leave it to the rows together: each replaces the one stored of its country."""


class StepPlaceForm(forms.ModelForm):
    """Where a step is done, and on which part."""

    class Meta:
        model = StepPlace
        fields = ["name", "where", "part"]
        widgets = {"name": forms.HiddenInput}

    def __init__(self, *args: Any, waits: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        where = StepPlace.Where
        may = (where.OVEN, where.DRYING) if waits else (where.HANDS,)
        self.fields["where"].choices = [(place.value, place.label) for place in may]

    def validate_unique(self) -> None:
        """Leave it: the row replaces the one stored of its step."""


def _rows(form: type[forms.ModelForm], most: int, prefix: str, data: Any, initial: Any) -> Any:
    kind = forms.formset_factory(
        form, extra=SPARE_ROWS, max_num=most + SPARE_ROWS, validate_max=True
    )
    return kind(data, prefix=prefix, initial=initial)


class DayEntry:
    """All that the settings of the days ask, beginning with what is in use."""

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        self.form = DaySettingsForm(data, instance=DaySettings.current())
        hours, _own = hours_in_use()
        self.week = [
            (
                label,
                WorkingDayForm(
                    data,
                    prefix=f"day-{weekday}",
                    initial=_times(hours.week[weekday]),
                    instance=WorkingDay(weekday=weekday),
                ),
            )
            for weekday, label in WorkingDay.WEEKDAYS
        ]
        coming = DayOff.objects.filter(last_on__gte=timezone.localdate())
        off = list(coming.values("first_on", "last_on", "note"))
        self.days_off = _rows(DayOffForm, DAYS_OFF_MOST, "off", data, off)
        post = [
            {"country": row.country or ANYWHERE_ELSE, "days": row.days}
            for row in PostDays.objects.all()
        ]
        self.post = _rows(PostDaysForm, POST_MOST, "post", data, post)
        self.steps = [
            (
                name,
                StepPlaceForm(
                    data,
                    prefix=f"step-{number}",
                    waits=passive,
                    initial={"name": name, "where": where, "part": part},
                ),
            )
            for number, (name, passive, where, part, _said) in enumerate(
                step_places_shown()[:STEPS_MOST]
            )
        ]

    @property
    def forms_in_rows(self) -> list[tuple[str, forms.BaseForm]]:
        """Return every row with what it is called, for the list of faults."""
        off, to = _("Days off"), _("Days in the post")
        return [
            *((str(label), form) for label, form in self.week),
            *((f"{off} {n}", form) for n, form in enumerate(self.days_off, 1)),
            *((f"{to} {n}", form) for n, form in enumerate(self.post, 1)),
            *self.steps,
        ]

    @property
    def has_faults(self) -> bool:
        """Return whether anything that was sent does not hold."""
        rows = any(form.errors for _label, form in self.forms_in_rows)
        whole = self.days_off.non_form_errors() or self.post.non_form_errors()
        return bool(rows or self.form.errors or whole)

    def is_valid(self) -> bool:
        """Return whether every part holds by itself, and no country is named twice."""
        rows = [form.is_valid() for _label, form in (*self.week, *self.steps)]
        parts = [self.form.is_valid(), self.days_off.is_valid(), self.post.is_valid()]
        return all([*rows, *parts]) and self._works_some_day() and self._countries_once()

    def _works_some_day(self) -> bool:
        if self.week_rows():
            return True
        first = self.week[0][1]
        first.add_error("begins", _("There is no working day at all; give one its hours."))
        return False

    def _countries_once(self) -> bool:
        seen: set[str] = set()
        for row in self.post:
            if row.is_filled:
                country = _country(row.cleaned_data["country"])
                if country.casefold() in seen:
                    row.add_error("country", _("This country has a row already."))
                seen.add(country.casefold())
        return not any(row.errors for row in self.post)

    def week_rows(self) -> list[WorkingDay]:
        """Return the weekdays with hours, unsaved."""
        return [
            WorkingDay(weekday=form.instance.weekday, **{k: form.cleaned_data[k] for k in HOURS})
            for _label, form in self.week
            if form.is_filled
        ]

    def off_rows(self) -> list[DayOff]:
        """Return the days off, unsaved, each stretch once."""
        rows = {
            (row.cleaned_data["first_on"], row.cleaned_data["last_on"]): DayOff(
                **row.values(("first_on", "last_on", "note"))
            )
            for row in self.days_off
            if row.is_filled
        }
        return list(rows.values())

    def post_rows(self) -> list[PostDays]:
        """Return the days in the post, unsaved."""
        return [
            PostDays(country=_country(row.cleaned_data["country"]), days=row.cleaned_data["days"])
            for row in self.post
            if row.is_filled
        ]

    def place_rows(self) -> list[StepPlace]:
        """Return where the steps are done, unsaved."""
        known = {name for name, _form in self.steps}
        sent = [form.cleaned_data for _name, form in self.steps]
        return [StepPlace(**row) for row in sent if row["name"] in known]


def _country(text: str) -> str:
    country = " ".join(text.split())
    return "" if country == ANYWHERE_ELSE else country


def _times(stretches: Any) -> dict[str, Any]:
    flat = [clock for stretch in stretches for clock in stretch]
    return dict(zip(HOURS, flat, strict=False))


class TurnsForm(forms.Form):
    """The turns of the open jobs, a number for each."""

    def __init__(self, data: Mapping[str, Any] | None, *, jobs: Any) -> None:
        super().__init__(data)
        self.jobs = list(jobs)
        for row in self.jobs:
            self.fields[self.name_of(row.job.commission.pk)] = forms.IntegerField(
                label=_("Turn of %(job)s") % {"job": row.job.commission.code},
                min_value=1,
                max_value=MOST_TURN,
                initial=row.turn,
            )

    @staticmethod
    def name_of(job_id: int) -> str:
        """Return the name of a job's field."""
        return f"turn-{job_id}"

    def rows(self) -> list[tuple[Any, forms.BoundField]]:
        """Return each job with its field."""
        return [(row, self[self.name_of(row.job.commission.pk)]) for row in self.jobs]

    def typed(self) -> dict[int, int]:
        """Return the typed turns by the jobs' ids."""
        return {
            row.job.commission.pk: self.cleaned_data[self.name_of(row.job.commission.pk)]
            for row in self.jobs
        }
