"""What a half-filled foot form can be told already: what clashes, and what would be inferred."""

from dataclasses import dataclass

from patterns.foot import MEASURE_KEYS, Foot
from patterns.measures import CompleteMeasures, complete_measures
from workshop.forms.library import FootForm
from workshop.lengths import sentence_in
from workshop.selectors.library import labels


@dataclass(frozen=True, slots=True)
class MeasureNote:
    """What stands beside one box: faults, or what an empty box is taken as, with its unit."""

    key: str
    errors: list[str]
    inferred: str


@dataclass(frozen=True, slots=True)
class FootChecks:
    """Notes for all boxes and the line on top of them."""

    notes: list[MeasureNote]
    others: list[str]
    given: int
    most_helpful: str

    @property
    def faulty(self) -> bool:
        """Return whether anything clashes."""
        return bool(self.others) or any(note.errors for note in self.notes)


def foot_checks(form: FootForm) -> FootChecks:
    """Return the notes of a bound form; boxes still empty are no fault while one types."""
    errors = {
        name: [fault.messages[0] for fault in faults if fault.code != "required"]
        for name, faults in form.errors.as_data().items()
    }
    measures = form.measures_mm()
    complete = None
    if not any(errors.values()) and "foot_length" in measures:
        complete = complete_measures(Foot(form.doll.name, measures))
    helpful = complete.most_helpful if complete else None
    return FootChecks(
        notes=[
            MeasureNote(key, errors.get(key, []), sentence_in(_inferred(key, complete), form.unit))
            for key in MEASURE_KEYS
        ],
        others=[
            said
            for name, all_said in errors.items()
            if name not in MEASURE_KEYS
            for said in all_said
        ],
        given=len(measures),
        most_helpful=labels()[helpful] if helpful else "",
    )


def _inferred(key: str, complete: CompleteMeasures | None) -> str:
    if complete is None or key not in complete.inferred:
        return ""
    return f"{complete.values_mm[key]:.1f} mm"
