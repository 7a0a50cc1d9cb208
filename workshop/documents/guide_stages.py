"""The minutes of a rate card's steps, gathered by the stages of a making guide."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from costing.labour import WorkDrivers, WorkStepRule, steps_for

Stage = Literal["cut", "prepare", "join", "eyelets", "last", "dry", "sole", "bake", "finish"]


@dataclass(frozen=True, slots=True)
class StageMinutes:
    """How long a stage takes for one pair: by hand, and waiting."""

    hands_min: Decimal = Decimal(0)
    waiting_min: Decimal = Decimal(0)


def minutes_by_stage(
    rules: Iterable[WorkStepRule],
    drivers: WorkDrivers,
    *,
    way: str,
    place_of: Callable[[str, bool], tuple[str, str]],
) -> dict[Stage, StageMinutes]:
    """Return the minutes of each stage; what belongs to no stage (mails, parcels) is left out.

    Parameters
    ----------
    rules : iterable of WorkStepRule
    drivers : WorkDrivers
        Of one pair.
    way : str
        Of joining: hand stitch, machine, glue.
    place_of : function
        From a step's name and whether it waits to where it is done and on which part.
    """
    found: dict[Stage, StageMinutes] = {}
    for rule in rules:
        stage = _stage(rule, *place_of(rule.name, rule.passive))
        if stage is None:
            continue
        minutes = sum((step.minutes for step in steps_for([rule], drivers, way=way)), Decimal(0))
        before = found.get(stage, StageMinutes())
        if rule.passive:
            found[stage] = StageMinutes(before.hands_min, before.waiting_min + minutes)
        else:
            found[stage] = StageMinutes(before.hands_min + minutes, before.waiting_min)
    return found


def _stage(rule: WorkStepRule, where: str, part: str) -> Stage | None:
    if rule.passive:
        return "bake" if where == "oven" or part == "sole" else "dry"
    by_driver: dict[str, Stage] = {
        "mm_stitched": "join",
        "mm_lasted": "last",
        "eyelet": "eyelets",
        "batch": "join",
    }
    if rule.per in by_driver:
        return by_driver[rule.per]
    if rule.per == "order":
        return None
    if part == "sole":
        return "sole"
    if rule.per == "piece":
        return "prepare" if part == "upper" else "cut"
    return "prepare" if part == "upper" else "finish"
