"""The hours a workshop works: by weekday and day off, as minutes that clocks put on or back keep.

An instant is a whole number of minutes since 1970-01-01 00:00 UTC, so that an hour is always an
hour; only days and times of day know of a zone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from zoneinfo import ZoneInfo

from costing.errors import PlanError

DAYS_OF_WEEK = 7
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MINUTE = timedelta(minutes=1)
Stretch = tuple[time, time]


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of time from one instant up to, but not at, another."""

    begin_min: int
    end_min: int

    @property
    def minutes(self) -> int:
        """Return how long it is."""
        return self.end_min - self.begin_min


@dataclass(frozen=True, slots=True)
class WorkingHours:
    """When hands are at the bench.

    Parameters
    ----------
    zone : str
        Name of the time zone the clock on the wall shows, such as ``"Europe/Berlin"``.
    week : sequence of seven sequences of (begin, end)
        Monday first; the stretches of a day in their order, none for a day without work.
    days_off : set of date
        Days without work whatever their weekday.

    Raises
    ------
    PlanError
        Hours that end before they begin or overlap, no working day at all, an unknown zone;
        ``field`` is ``week.N`` with the weekday at fault, 0 for Monday.
    """

    zone: str
    week: Sequence[Sequence[Stretch]]
    days_off: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        known_zone(self.zone)
        if len(self.week) != DAYS_OF_WEEK:
            raise PlanError("a week has seven days", field="week", code="week_length")
        for weekday, stretches in enumerate(self.week):
            _check_day(stretches, f"week.{weekday}")
        if not any(self.week):
            raise PlanError(
                "there is no working day in the week; give one its hours",
                field="week",
                code="no_working_day",
            )

    def spans_of(self, day: date) -> tuple[Span, ...]:
        """Return a day's stretches of work as instants; none on a day off.

        Where clocks go on within a stretch, the hour that is not there is not worked; where they go
        back, a time that comes twice is meant as it comes first.
        """
        if day in self.days_off:
            return ()
        spans = (
            Span(instant_of(day, begin, self.zone), instant_of(day, end, self.zone))
            for begin, end in self.week[day.weekday()]
        )
        return tuple(span for span in spans if span.minutes > 0)


def _check_day(stretches: Sequence[Stretch], field: str) -> None:
    before: time | None = None
    for begin, end in stretches:
        if begin >= end:
            raise PlanError(
                f"the hours end at {end:%H:%M}, before they begin at {begin:%H:%M}",
                field=field,
                code="hours_end_first",
            )
        if before is not None and begin < before:
            raise PlanError(
                f"the hours from {begin:%H:%M} begin before those up to {before:%H:%M} end",
                field=field,
                code="hours_overlap",
            )
        before = end


@cache
def known_zone(name: str) -> ZoneInfo:
    """Return a time zone by its name.

    Raises
    ------
    PlanError
        No such zone is known here.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise PlanError(
            f"the time zone {name!r} is not known", field="zone", code="zone_unknown"
        ) from None


def instant_of(day: date, clock: time, zone: str) -> int:
    """Return the instant at which clocks show a time on a day.

    A time that comes twice is its first one; one that is left out is the instant clocks go on.

    >>> instant_of(date(2026, 10, 25), time(9), "Europe/Berlin") - instant_of(
    ...     date(2026, 10, 24), time(9), "Europe/Berlin")
    1500
    """
    at = datetime.combine(day, clock.replace(second=0, microsecond=0), known_zone(zone))
    instant = _minutes_of(at)
    if moment_of(instant, zone).replace(tzinfo=None) == at.replace(tzinfo=None):
        return instant
    # Left out: somewhere between the two readings of that time the offset changes.
    early, late = _minutes_of(at.replace(fold=1)), instant
    offset = moment_of(early, zone).utcoffset()
    while late - early > 1:
        middle = (early + late) // 2
        if moment_of(middle, zone).utcoffset() == offset:
            early = middle
        else:
            late = middle
    return late


def moment_of(instant_min: int, zone: str) -> datetime:
    """Return the time of day in a zone at an instant."""
    return (_EPOCH + instant_min * _MINUTE).astimezone(known_zone(zone))


def _minutes_of(at: datetime) -> int:
    return (at - _EPOCH) // _MINUTE


def instant_from(at: datetime) -> int:
    """Return the first whole minute at or after a time."""
    return -((_EPOCH - at) // _MINUTE)


class WorkingLine:
    """Working minutes counted through from an instant on, so that a break takes no place.

    Place ``n`` is the working minute that has ``n`` others before it. The line is drawn as far as
    it is asked for, and no further than ``longest_days``.
    """

    def __init__(self, hours: WorkingHours, begin_min: int, longest_days: int) -> None:
        self.hours = hours
        self.begin_min = begin_min
        self._day = moment_of(begin_min, hours.zone).date()
        self._last_day = self._day + timedelta(days=longest_days)
        self._spans: list[Span] = []
        self._places = [0]  # working minutes before each span, and after the last one

    def spans_from(self, at_min: int) -> "SpanWalk":
        """Return the stretches of work that end after an instant, one after the other."""
        return SpanWalk(self, self._index_at(at_min))

    def span(self, index: int) -> Span:
        """Return a stretch by its number.

        Raises
        ------
        PlanError
            The line is not drawn that far.
        """
        while index >= len(self._spans):
            self._draw_day()
        return self._spans[index]

    def place_at(self, at_min: int) -> int:
        """Return how many working minutes lie before an instant."""
        index = self._index_at(at_min)
        return self._places[index] + max(0, at_min - self._spans[index].begin_min)

    def spans_between(self, place: int, end_place: int) -> tuple[Span, ...]:
        """Return the time from one place up to another, without the breaks in it."""
        index = self._index_of_place(place)
        found = []
        while place < end_place:
            begin = self.span(index).begin_min + place - self._places[index]
            end_of_span = self._places[index + 1]
            upto = min(end_place, end_of_span)
            found.append(Span(begin, begin + upto - place))
            place = upto
            index += 1
        return tuple(found)

    def _index_at(self, at_min: int) -> int:
        """Return the number of the first stretch that ends after an instant."""
        while not self._spans or self._spans[-1].end_min <= at_min:
            self._draw_day()
        low, high = 0, len(self._spans) - 1
        while low < high:
            middle = (low + high) // 2
            if self._spans[middle].end_min <= at_min:
                low = middle + 1
            else:
                high = middle
        return low

    def _index_of_place(self, place: int) -> int:
        while self._places[-1] <= place:
            self._draw_day()
        low, high = 0, len(self._spans) - 1
        while low < high:
            middle = (low + high) // 2
            if self._places[middle + 1] <= place:
                low = middle + 1
            else:
                high = middle
        return low

    def _draw_day(self) -> None:
        if self._day > self._last_day:
            days = (self._last_day - moment_of(self.begin_min, self.hours.zone).date()).days
            raise PlanError(
                f"the work does not fit into the next {days} days; look for minutes that are too"
                " many, or for days off that leave no working day",
                field="steps",
                code="too_far",
                days=days,
            )
        for span in self.hours.spans_of(self._day):
            begin = max(span.begin_min, self.begin_min)
            if begin < span.end_min:
                self._spans.append(Span(begin, span.end_min))
                self._places.append(self._places[-1] + span.end_min - begin)
        self._day += timedelta(days=1)


class SpanWalk:
    """The stretches of a line from one on; ends only with the line itself, by its fault."""

    def __init__(self, line: WorkingLine, index: int) -> None:
        self._line, self._index = line, index

    def __iter__(self) -> "SpanWalk":
        """Return itself."""
        return self

    def __next__(self) -> Span:
        """Return the next stretch."""
        span = self._line.span(self._index)
        self._index += 1
        return span


def longest_stretch_min(week: Sequence[Sequence[Stretch]]) -> int:
    """Return the longest stretch of work in a week by the clock, in minutes."""
    lengths = [
        (end.hour - begin.hour) * 60 + end.minute - begin.minute
        for stretches in week
        for begin, end in stretches
    ]
    return max(lengths, default=0)
