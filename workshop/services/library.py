"""Feet as they are measured: each one a new version, none ever overwritten."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max

from patterns.errors import FootError
from patterns.foot import MEASURE_KEYS, foot_problems
from workshop.bridge import foot_values
from workshop.models import Doll, FootVersion
from workshop.services.orders import commissions_measured
from workshop.services.records import record_save


@transaction.atomic
def foot_measure(
    *,
    doll: Doll,
    foot_side: str,
    measures: Mapping[str, Decimal | None],
    reason: str,
    by: AbstractBaseUser | None,
    knee_clearance_mm: Decimal | None = None,
    level_girths: list[dict[str, str]] | None = None,
    sole_outline: list[list[float]] | None = None,
    side_profile: list[list[float]] | None = None,
) -> FootVersion:
    """Keep a newly measured foot as the next version of that doll and side.

    Raises
    ------
    ValidationError
        A field does not hold, or the measures cannot belong to one foot; nothing is stored.
    """
    # Two people measuring one doll at once: the second waits here and counts on from the first.
    Doll.objects.select_for_update().get(pk=doll.pk)
    version = FootVersion(
        doll=doll,
        foot_side=foot_side,
        version=last_version(doll, foot_side) + 1,
        **{key: measures.get(key) for key in MEASURE_KEYS},
        knee_clearance_mm=knee_clearance_mm,
        level_girths=level_girths or [],
        sole_outline=sole_outline or [],
        side_profile=side_profile or [],
        reason=reason,
        made_by=by,
    )
    problems = version_problems(version)
    if problems:
        raise ValidationError({field_of(problem): [problem.text] for problem in problems})
    record_save(version, by=by, action="measured")
    commissions_measured(doll, by=by)
    return version


def last_version(doll: Doll, foot_side: str) -> int:
    """Return the newest version number of one of a doll's feet, 0 when it was never measured."""
    of_side = FootVersion.objects.filter(doll=doll, foot_side=foot_side)
    return of_side.aggregate(last=Max("version"))["last"] or 0


def version_problems(version: FootVersion) -> list[FootError]:
    """Return everything the core finds wrong with a foot that is not stored yet."""
    if version.foot_length is None:
        return []
    return foot_problems(**foot_values(version, name=version.doll.name))


def field_of(problem: FootError) -> str:
    """Return the form's and the record's name for the value a core error is about."""
    head, _, rest = problem.field.partition(".")
    return rest if head == "measures" else head


def version_values(version: FootVersion) -> dict[str, Any]:
    """Return what makes a foot the foot it is: all but who measured it and when."""
    names = ("foot_side", *MEASURE_KEYS, "knee_clearance_mm", "level_girths", "sole_outline",
             "side_profile", "reason")  # fmt: skip
    return {name: getattr(version, name) for name in names}
