"""Which measure to take again: what the error of each does to the pieces, worked out behind."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.utils.translation import gettext as _

from patterns.drafting.effects import CUSTOMER_ERROR_MM, OWN_ERROR_MM
from patterns.pieces.piece import PieceSet
from workshop.drafting import Asked
from workshop.models import BackgroundJob
from workshop.selectors.library import labels
from workshop.work import EFFECTS, work_found, work_key, work_latest, work_start

ERRORS_MM = {"own": OWN_ERROR_MM, "customer": CUSTOMER_ERROR_MM}


@dataclass(frozen=True, slots=True)
class EffectRow:
    """What one measure's error moves."""

    label: str
    error_mm: float
    inferred: bool
    piece: str
    most_mm: float


@dataclass(frozen=True, slots=True)
class EffectsShown:
    """The work behind it, and what it found; nothing yet while it runs or was never begun."""

    hand: str
    work: BackgroundJob | None
    rows: list[EffectRow]

    @property
    def advice(self) -> str:
        """Return the one measure to take again, in a sentence."""
        if not self.rows:
            return ""
        worst = self.rows[0]
        figures = {
            "measure": worst.label.lower(),
            "error": f"{worst.error_mm:.1f}",
            "piece": worst.piece,
            "moved": f"{worst.most_mm:.1f}",
        }
        if worst.inferred:
            return (
                _(
                    "Take the %(measure)s: it is inferred so far and may be off by %(error)s mm,"
                    " which moves the %(piece)s by %(moved)s mm."
                )
                % figures
            )
        return (
            _(
                "Take the %(measure)s again first: %(error)s mm there move the %(piece)s by"
                " %(moved)s mm."
            )
            % figures
        )


def effects_key(asked: Asked, hand: str) -> str:
    """Return the key of the work for a choice and for whose hand held the tape."""
    return work_key(EFFECTS, asked.source() | {"error_mm": ERRORS_MM[hand]})


def effects_start(asked: Asked, hand: str, *, by: AbstractBaseUser) -> BackgroundJob:
    """Hand the working out to the background worker."""
    inputs = asked.source() | {"error_mm": ERRORS_MM[hand]}
    return work_start(EFFECTS, inputs, key=effects_key(asked, hand), by=by)


def effects_shown(asked: Asked, hand: str, pieces: PieceSet | None) -> EffectsShown:
    """Return what is known so far, the measure that moves the upper most first.

    What lies inside or under the shoe is cut to the upper in the end and decides nothing.
    """
    key = effects_key(asked, hand)
    done = work_found(EFFECTS, key)
    upper = {p.name for p in pieces.pieces if p.material == "upper"} if pieces else set()
    rows = [_row(found, upper) for found in done.result["effects"]] if done is not None else []
    rows.sort(key=lambda row: -row.most_mm)
    return EffectsShown(hand, work_latest(EFFECTS, key), rows)


def _row(found: dict[str, Any], upper: Collection[str]) -> EffectRow:
    moved = sorted(found["moved_mm"].items(), key=lambda pair: (pair[0] not in upper, -pair[1]))
    piece, most = moved[0] if moved else ("", 0.0)
    return EffectRow(
        label=labels().get(found["measure"], found["measure"]),
        error_mm=found["error_mm"],
        inferred=found["inferred"],
        piece=piece,
        most_mm=most,
    )
