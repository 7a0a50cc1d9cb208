"""The day plan as it is drawn: a picture a day, time downwards, a lane each for hands and oven."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from costing.day_plan import Block
from costing.working_hours import Span, WorkingHours, moment_of
from patterns.drawing.fonts import fitted, wrapped
from workshop.selectors.day_plan import DaysShown

DAYS_SHOWN = 6
LONGEST_LOOK = 60  # days looked through for those with work
WIDTH = 344.0
HEAD = 22.0
CLOCK_WIDTH = 42.0
LANES = {"hands": (44.0, 160.0), "oven": (208.0, 60.0), "drying": (272.0, 72.0)}
LEAST_ROW, MOST_ROW, PER_MIN = 17.0, 52.0, 0.5
TEXT, LINE = 11.0, 13.0
INSET = 4.0
FOOT = 12.0
NARROW = 48.0  # a column too narrow for a job's code, whose words run down it instead


@dataclass(frozen=True, slots=True)
class DrawnBlock:
    """A rectangle with its lines of words; ``title`` is all of it in one sentence.

    ``down`` are the words of one too narrow for lines, which run from the top down.
    """

    where: str
    x: float
    y: float
    width: float
    height: float
    lines: tuple[tuple[float, str], ...]
    title: str
    is_late: bool
    down: str = ""

    @property
    def words_x(self) -> float:
        """Return where the words begin."""
        return self.x + INSET

    @property
    def turn(self) -> str:
        """Return the SVG transform of words that run down."""
        return f"translate({self.x + self.width / 2 - 4:.1f} {self.y + INSET:.1f}) rotate(90)"


@dataclass(frozen=True, slots=True)
class DayRow:
    """One line of the table: a block, or the part of it that falls on the day."""

    begin: datetime.datetime
    end: datetime.datetime
    where: str
    job: str
    job_id: int
    step: str
    is_late: bool
    runs_on: bool


@dataclass(frozen=True, slots=True)
class DrawnDay:
    """One day: its picture's parts and the same as rows."""

    day: datetime.date
    height: float
    clocks: tuple[tuple[float, str], ...]
    blocks: tuple[DrawnBlock, ...]
    rows: tuple[DayRow, ...]
    width: float = WIDTH
    lanes: tuple[tuple[float, float, str], ...] = ()

    @property
    def lane_height(self) -> float:
        """Return how high the lanes are drawn."""
        return self.height - HEAD - FOOT + 6


def lane_words() -> dict[str, str]:
    """Return what the lanes are called."""
    return {"hands": _("Hands"), "oven": _("Oven"), "drying": _("Drying")}


def drawn_days(shown: DaysShown, first: datetime.date) -> tuple[list[DrawnDay], datetime.date]:
    """Return the next days with work on them, and the day to look on from."""
    days: list[DrawnDay] = []
    day = first
    for _turn in range(LONGEST_LOOK):
        if len(days) == DAYS_SHOWN:
            break
        drawn = _drawn_day(shown, day)
        if drawn is not None:
            days.append(drawn)
        day += datetime.timedelta(days=1)
    return days, day


def _drawn_day(shown: DaysShown, day: datetime.date) -> DrawnDay | None:
    hours = shown.hours
    window = _window(hours, day)
    if window is None:
        return None
    parts = [(block, part) for block in shown.plan.blocks for part in _parts(block, window)]
    if not parts:
        return None
    scale = _Scale(window, [part for _block, part in parts], hours.spans_of(day))
    late = {row.job.to_do.key for row in shown.late}
    ids = {row.job.to_do.key: row.job.commission.pk for row in shown.jobs}
    words = lane_words()
    return DrawnDay(
        day=day,
        height=scale.height + HEAD + FOOT,
        clocks=tuple(
            (HEAD + scale.y(at) + 4, f"{moment_of(at, hours.zone):%H:%M}") for at in scale.marks
        ),
        blocks=tuple(_drawn(parts, scale, hours, late)),
        rows=tuple(
            _row(block, part, hours, late, ids)
            for block, part in sorted(parts, key=lambda one: (one[1].begin_min, one[0].where))
        ),
        lanes=tuple((x, width - 2, words[name]) for name, (x, width) in LANES.items()),
    )


def _window(hours: WorkingHours, day: datetime.date) -> Span | None:
    """Return the day from the first working minute to the last; None on a day off."""
    spans = hours.spans_of(day)
    return Span(spans[0].begin_min, spans[-1].end_min) if spans else None


def _parts(block: Block, window: Span) -> Iterable[Span]:
    for span in block.spans:
        begin, end = max(span.begin_min, window.begin_min), min(span.end_min, window.end_min)
        if begin < end:
            yield Span(begin, end)


class _Scale:
    """Time downwards, short stretches drawn higher and long ones lower than they last."""

    def __init__(self, window: Span, parts: Sequence[Span], spans: Sequence[Span]) -> None:
        ends = {window.begin_min, window.end_min}
        for span in (*parts, *spans):
            ends |= {span.begin_min, span.end_min}
        self.marks = sorted(ends)
        self._at = {self.marks[0]: 0.0}
        y = 0.0
        for before, after in zip(self.marks, self.marks[1:], strict=False):
            y += min(MOST_ROW, max(LEAST_ROW, PER_MIN * (after - before)))
            self._at[after] = y
        self.height = y

    def y(self, at_min: int) -> float:
        """Return how far down an instant lies."""
        return self._at[at_min]


def _drawn(
    parts: Sequence[tuple[Block, Span]], scale: _Scale, hours: WorkingHours, late: set[str]
) -> Iterable[DrawnBlock]:
    for where, (left, lane_width) in LANES.items():
        mine = [(block, part) for block, part in parts if block.where == where]
        columns = _columns([part for _block, part in mine])
        width = lane_width / (max(columns, default=0) + 1)
        for (block, part), column in zip(mine, columns, strict=True):
            top, bottom = HEAD + scale.y(part.begin_min), HEAD + scale.y(part.end_min)
            is_late = block.job in late
            x = left + column * width
            said, height = _said(block, part, hours, is_late), bottom - top
            runs_down = width < NARROW and height > width
            yield DrawnBlock(
                where, x, top, width - 2, height - 1,
                () if runs_down else _lines(said, top, height, width),
                _title(block, part, hours, is_late),
                is_late,
                fitted(said, height - 2 * INSET, TEXT, "sans") if runs_down else "",
            )  # fmt: skip


def _columns(spans: Sequence[Span]) -> list[int]:
    """Return for each span the first column that is free for it."""
    free: list[int] = []
    columns = []
    for span in spans:
        at = next((k for k, end in enumerate(free) if end <= span.begin_min), len(free))
        if at == len(free):
            free.append(span.end_min)
        else:
            free[at] = span.end_min
        columns.append(at)
    return columns


def _said(block: Block, part: Span, hours: WorkingHours, is_late: bool) -> str:
    """Return what stands in a block; what dries on after the day's work says until when."""
    said = f"{block.job} {block.step}"
    if _runs_on(block, part):
        said += f" \u2192\u00a0{date_format(moment_of(block.end_min, hours.zone), 'D H:i')}"
    return f"{_('late')}: {said}" if is_late else said


def _runs_on(block: Block, part: Span) -> bool:
    return block.where == "drying" and part.end_min < block.end_min


def _lines(said: str, top: float, height: float, width: float) -> tuple[tuple[float, str], ...]:
    room = width - 2 - 2 * INSET
    most = max(1, int((height - 3) // LINE))
    lines = list(wrapped(said, room, TEXT, "sans"))
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return tuple(
        (top + 12.5 + k * LINE, fitted(line, room, TEXT, "sans")) for k, line in enumerate(lines)
    )


def _title(block: Block, part: Span, hours: WorkingHours, is_late: bool) -> str:
    begin, end = moment_of(part.begin_min, hours.zone), moment_of(part.end_min, hours.zone)
    words = {
        "job": block.job, "step": block.step, "begin": f"{begin:%H:%M}", "end": f"{end:%H:%M}",
    }  # fmt: skip
    said = _("%(begin)s to %(end)s: %(job)s, %(step)s") % words
    return f"{said} ({_('late')})" if is_late else said


def _row(
    block: Block, part: Span, hours: WorkingHours, late: set[str], ids: dict[str, int]
) -> DayRow:
    # What runs on after the day's work shows when it is over, be it in the night.
    runs_on = _runs_on(block, part)
    end = block.end_min if runs_on else part.end_min
    return DayRow(
        moment_of(part.begin_min, hours.zone),
        moment_of(end, hours.zone),
        lane_words()[block.where],
        block.job,
        ids[block.job],
        block.step,
        block.job in late,
        runs_on,
    )


def day_asked(text: str, today: datetime.date) -> datetime.date:
    """Return the day an address asks for, today for one that is over or is none."""
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        return today
    furthest = today + datetime.timedelta(days=3 * 366)
    return min(max(day, today), furthest)
