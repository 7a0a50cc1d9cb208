"""Feet as they are measured: each one a new version, none ever overwritten."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from patterns.errors import FootError
from patterns.foot import MEASURE_KEYS, foot_problems
from patterns.mesh_in import LENGTH_TOLERANCE
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
    mesh: Mapping[str, Any] | None = None,
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
        mesh=dict(mesh or {}),
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
    problems = foot_problems(**foot_values(version, name=version.doll.name))
    return problems + mesh_problems(version.mesh, float(version.foot_length))


def mesh_problems(mesh: Mapping[str, Any], foot_length_mm: float) -> list[FootError]:
    """Return what speaks against a mesh belonging to a foot of that length."""
    length_mm = mesh.get("foot_length_mm")
    if length_mm is None or abs(length_mm / foot_length_mm - 1) <= LENGTH_TOLERANCE:
        return []
    text = _(
        "The mesh is %(mesh).1f mm long, the foot length %(foot).1f mm. Correct the length, or"
        " choose the mesh again and set its unit."
    ) % {"mesh": length_mm, "foot": foot_length_mm}
    return [FootError(text, field="measures.foot_length", code="mesh-scale")]


def field_of(problem: FootError) -> str:
    """Return the form's and the record's name for the value a core error is about."""
    head, _, rest = problem.field.partition(".")
    return rest if head == "measures" else head


def version_values(version: FootVersion) -> dict[str, Any]:
    """Return what makes a foot the foot it is: all but who measured it and when."""
    names = ("foot_side", *MEASURE_KEYS, "knee_clearance_mm", "level_girths", "sole_outline",
             "side_profile", "mesh", "reason")  # fmt: skip
    return {name: getattr(version, name) for name in names}
