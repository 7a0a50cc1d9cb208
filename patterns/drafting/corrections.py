"""What a maker learnt from a mock-up or from wear, brought into the next draft."""

from collections.abc import Mapping
from dataclasses import replace
from math import isfinite

from patterns.errors import StyleError
from patterns.foot import MEASURE_BY_KEY, Foot
from patterns.measures import complete_measures
from patterns.style import Style

GIRTH = "girth:"
CURVE = "curve:"
MOST_SHARE = 0.2  # of the foot's length: more is no correction but another boot


def foot_corrected(foot: Foot, corrections: Mapping[str, float]) -> Foot:
    """Return the foot with its girths made longer or shorter; the foot itself if none is.

    A mesh has no girths of its own to correct: its last is changed instead.

    Raises
    ------
    StyleError
        An unknown kind of correction or measure, or a change out of all proportion.
    """
    changes = girth_changes(foot, corrections)
    if foot.mesh is not None or not any(changes.values()):
        return foot
    known = complete_measures(foot).values_mm
    measures = dict(foot.measures_mm)
    for measure, change_mm in changes.items():
        measures[measure] = known[measure] + change_mm
    return replace(foot, measures_mm=measures)


def girth_changes(foot: Foot, corrections: Mapping[str, float]) -> dict[str, float]:
    """Return the change of each measure that is corrected, in mm; raise as `foot_corrected`."""
    changes = {}
    for key, change_mm in corrections.items():
        _check(key, change_mm, foot.foot_length_mm)
        if key.startswith(GIRTH):
            measure = key.removeprefix(GIRTH)
            if measure not in MEASURE_BY_KEY:
                raise _unknown(key)
            changes[measure] = float(change_mm)
    return changes


def curve_moves(style: Style, corrections: Mapping[str, float]) -> dict[str, float]:
    """Return how far each curve is moved, in mm along the leather."""
    names = {curve.name for curve in style.curves}
    moves = {}
    for key, change_mm in corrections.items():
        if not key.startswith(CURVE):
            continue
        name = key.removeprefix(CURVE)
        if name not in names:
            raise _unknown(key)
        moves[name] = float(change_mm)
    return moves


def _check(key: str, change_mm: float, foot_length_mm: float) -> None:
    if not key.startswith((GIRTH, CURVE)):
        raise _unknown(key)
    most = MOST_SHARE * foot_length_mm
    if not isfinite(change_mm) or abs(change_mm) > most:
        text = (
            f"The correction of the {key.partition(':')[2].replace('_', ' ')} is {change_mm:g} mm;"
            f" at most {most:.1f} mm either way are a correction."
        )
        raise StyleError(text, field=f"corrections.{key}", code="correction-range", key=key)


def _unknown(key: str) -> StyleError:
    text = f"There is nothing called {key[:60]!r} to correct."
    return StyleError(text, field=f"corrections.{key[:60]}", code="correction-unknown", key=key)
