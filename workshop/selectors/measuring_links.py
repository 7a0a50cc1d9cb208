"""Measures that came by link, as the maker looks at them."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from patterns.errors import FootError
from patterns.foot import MEASURE_KEYS, Foot, foot_problems
from patterns.measures import complete_measures, unlikely_measures
from workshop.lengths import length_text, typed_length
from workshop.models import Doll, MeasuringLink
from workshop.selectors.library import labels

SHOWN = 5


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One measure as it came: both readings, what counts, and what speaks against it."""

    key: str
    label: str
    first: str
    second: str
    taken: str
    inferred: str
    doubt: str
    is_new: bool


@dataclass(frozen=True, slots=True)
class AnswerShown:
    """An answer to look at."""

    rows: list[MeasureRow]
    faults: list[str]
    missing: str
    doubted: list[str]


def links_of(doll: Doll) -> list[MeasuringLink]:
    """Return the newest links of a doll."""
    return list(doll.measuring_links.select_related("kept_as")[:SHOWN])


def measures_of(link: MeasuringLink) -> dict[str, Decimal]:
    """Return each measure as it counts: the mean of both readings; asked again, the newer one."""
    found = measures_of(link.before) if link.before is not None else {}
    first, second = link.answer.get("first", {}), link.answer.get("second", {})
    for key, text in first.items():
        value = typed_length(text)
        found[key] = mean_mm(value, typed_length(second[key])) if key in second else value
    return found


def mean_mm(first: Decimal, second: Decimal) -> Decimal:
    """Return the middle of two readings, to thousandths.

    >>> mean_mm(Decimal("61.5"), Decimal("62"))
    Decimal('61.750')
    """
    return ((first + second) / 2).quantize(Decimal("0.001"))


def foot_side_of(link: MeasuringLink) -> str:
    """Return the foot an answer is about."""
    return str(link.answer.get("foot_side", "left"))


def answer_shown(link: MeasuringLink) -> AnswerShown:
    """Return an answer with what is unlikely, what is missing, and what to ask again."""
    taken = measures_of(link)
    measures = {key: float(value) for key, value in taken.items()}
    problems = foot_problems(link.doll.name, measures, foot_side=foot_side_of(link))
    doubts = {_key_of(problem): problem.text for problem in problems}
    inferred, missing = {}, ""
    if not problems:
        foot = Foot(link.doll.name, measures)
        for found in unlikely_measures(foot):
            doubts[found.key] = _(
                "unlikely: the other measures of this foot suggest about %(mm)s mm"
            ) % {"mm": f"{found.expected_mm:.0f}"}
        complete = complete_measures(foot)
        inferred = {key: f"{complete.values_mm[key]:.1f}" for key in complete.inferred}
        missing = labels()[complete.most_helpful] if complete.most_helpful else ""
    rows = [_row(link, key, taken, inferred, doubts) for key in MEASURE_KEYS]
    others = [text for key, text in doubts.items() if key not in MEASURE_KEYS]
    return AnswerShown(rows, others, missing, [row.key for row in rows if row.doubt])


def _key_of(problem: FootError) -> str:
    return problem.field.removeprefix("measures.")


def _row(
    link: MeasuringLink,
    key: str,
    taken: dict[str, Decimal],
    inferred: dict[str, str],
    doubts: dict[str, str],
) -> MeasureRow:
    first = link.answer.get("first", {}).get(key, "")
    return MeasureRow(
        key=key,
        label=labels()[key],
        first=first,
        second=link.answer.get("second", {}).get(key, ""),
        taken=length_text(taken[key]) if key in taken else "",
        inferred=inferred.get(key, ""),
        doubt=doubts.get(key, ""),
        is_new=bool(first),
    )


def initial_of(link: MeasuringLink) -> dict[str, str]:
    """Return what the measuring form begins with when an answer is to be kept."""
    boxes = {key: length_text(value) for key, value in measures_of(link).items()}
    reason = _("measured by the customer, by link")
    return boxes | {"foot_side": foot_side_of(link), "reason": reason}
