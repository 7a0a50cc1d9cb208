"""The steps of a making guide in their order, with the times they take."""

from dataclasses import replace
from decimal import Decimal

from workshop.documents.guide_bottom import (
    attach_step,
    bake_step,
    dry_step,
    finish_step,
    insole_step,
    last_step,
    sole_step,
)
from workshop.documents.guide_stages import Stage, StageMinutes
from workshop.documents.guide_upper import (
    cut_step,
    eyelets_step,
    join_step,
    line_step,
    prepare_step,
)
from workshop.documents.guide_values import GuidePlan, GuideStep

MAKERS = (
    cut_step,
    prepare_step,
    join_step,
    line_step,
    eyelets_step,
    insole_step,
    last_step,
    dry_step,
    sole_step,
    bake_step,
    attach_step,
    finish_step,
)


def guide_steps(plan: GuidePlan) -> tuple[GuideStep, ...]:
    """Return the steps in their order; what the style has not is left out."""
    making = plan.making
    steps = [step for make in MAKERS for step in make(plan, making)]
    # A stage's minutes stand at its first step, or a stage in two steps would count twice.
    told: set[Stage] = set()
    timed = []
    for step in steps:
        minutes = plan.minutes.get(step.stage, StageMinutes())
        if step.stage not in told:
            told.add(step.stage)
            step = _with_minutes(step, minutes)
        timed.append(step)
    return tuple(timed)


def _with_minutes(step: GuideStep, minutes: StageMinutes) -> GuideStep:
    return replace(
        step, hands_min=_whole(minutes.hands_min), waiting_min=_whole(minutes.waiting_min)
    )


def _whole(minutes: Decimal) -> int:
    return int(minutes.to_integral_value(rounding="ROUND_CEILING"))
