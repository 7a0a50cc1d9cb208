"""What an error of measuring does to the pieces: each measure moved by its error, drawn again."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from patterns.drafting.compare import compare_pieces, most_moved
from patterns.drafting.draft import draft_pieces
from patterns.errors import PatternError
from patterns.foot import MEASURE_KEYS, Foot
from patterns.measures import complete_measures
from patterns.pieces.piece import PieceSet
from patterns.style import Style

# Common practice, no source: how far a tape is off in the maker's own hand, and in a customer's.
OWN_ERROR_MM = 0.5
CUSTOMER_ERROR_MM = 1.0
INFERRED_SHARE = 0.04  # of its value: how far a measure inferred from proportion may be off


@dataclass(frozen=True, slots=True)
class MeasureEffect:
    """What one measure's error moves: the widest shift of each piece's outline, in mm.

    A measure that was inferred is moved by its share of guesswork, not by a tape's error.
    """

    measure: str
    error_mm: float
    inferred: bool
    moved_mm: Mapping[str, float]

    @property
    def most_mm(self) -> float:
        """Return the widest shift of any piece."""
        return max(self.moved_mm.values(), default=0.0)


def measuring_effects(
    foot: Foot,
    style: Style,
    values: Mapping[str, str | float | bool],
    *,
    error_mm: float = OWN_ERROR_MM,
    measures: Sequence[str] = MEASURE_KEYS,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[MeasureEffect, ...]:
    """Return what the error of each measure does to the pieces, the worst first.

    The raise of a flat foot is left out: that it is flat is seen, not measured.

    Parameters
    ----------
    foot : Foot
        A foot known by its measures; one with a mesh has no tape's error, and gives nothing.
    style, values : Style and mapping
        What is drawn for it.
    error_mm : float
        How far a measure may be off.
    measures : sequence of str
        The measures to look at; all of them if left out.
    progress : callable, optional
        Called with the number of measures done and of all; what it raises ends the work.

    Raises
    ------
    StyleError, FootError
        The style cannot be drawn for the foot as measured.
    """
    if foot.mesh is not None:
        return ()
    complete = complete_measures(foot)
    whole = replace(foot, measures_mm=dict(complete.values_mm))
    base = draft_pieces(whole, style, values)
    effects = []
    keys = [key for key in measures if key != "heel_raise" or complete.values_mm[key] > 0]
    for done, measure in enumerate(keys):
        if progress is not None:
            progress(done, len(keys))
        value = complete.values_mm[measure]
        inferred = measure in complete.inferred
        error = max(error_mm, INFERRED_SHARE * value) if inferred else error_mm
        moved = _moved(whole, style, values, base, measure, error)
        if moved is not None:
            effects.append(MeasureEffect(measure, error, inferred, moved))
    return tuple(sorted(effects, key=lambda effect: -effect.most_mm))


def _moved(
    foot: Foot,
    style: Style,
    values: Mapping[str, str | float | bool],
    base: PieceSet,
    measure: str,
    error_mm: float,
) -> Mapping[str, float] | None:
    """Return how far pieces move if a measure is longer by its error, or shorter if it cannot."""
    for error in (error_mm, -error_mm):
        measures = dict(foot.measures_mm)
        measures[measure] += error
        if measures[measure] < 0:
            continue
        try:
            other = draft_pieces(replace(foot, measures_mm=measures), style, values)
        except PatternError:
            continue
        return most_moved(compare_pieces(base, other))
    return None
