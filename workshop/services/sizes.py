"""House sizes graded from one foot by stated steps, and size runs handed to the worker."""

from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils.translation import gettext as _

from patterns.foot import MEASURE_KEYS
from patterns.house_sizes import graded_foot
from patterns.style import load_style
from workshop.bridge import foot_by_measures, foot_document
from workshop.drafting import Asked
from workshop.lengths import length_text
from workshop.mesh_files import foot_read
from workshop.models import BackgroundJob, Doll, FootVersion, StyleVersion
from workshop.services.library import foot_measure
from workshop.services.records import record_save
from workshop.work import SIZE_RUN, work_found, work_key, work_start

HUNDREDTH = Decimal("0.01")


@transaction.atomic
def sizes_grade(
    version: FootVersion,
    *,
    length_step_mm: Decimal,
    girth_step_mm: Decimal,
    down: int,
    up: int,
    name: str,
    by: AbstractBaseUser,
) -> list[FootVersion]:
    """Make house sizes from one foot's measures, smaller and larger by stated steps.

    Raises
    ------
    PatternError
        A size that no foot can have; nothing is stored.
    ValidationError
        A record does not hold.
    """
    base = foot_by_measures(version)
    made = []
    for steps in (k for k in range(-down, up + 1) if k):
        foot = graded_foot(
            base,
            length_step_mm=float(length_step_mm),
            girth_step_mm=float(girth_step_mm),
            steps=steps,
        )
        measures = {
            key: Decimal(repr(foot.measures_mm[key])).quantize(HUNDREDTH)
            for key in MEASURE_KEYS
            if key in foot.measures_mm
        }
        doll = Doll(
            name=f"{name} {length_text(measures['foot_length'])}",
            material=version.doll.material,
            feet_kind=version.doll.feet_kind,
        )
        record_save(doll, by=by)
        reason = _("graded from %(foot)s: %(steps)s × %(length)s mm long, %(girth)s mm ball girth")
        made.append(
            foot_measure(
                doll=doll,
                foot_side=version.foot_side,
                measures=measures,
                level_girths=[
                    {
                        "height_mm": f"{level.height_mm:.2f}",
                        "girth_mm": f"{level.girth_mm:.2f}",
                    }
                    for level in foot.level_girths
                ],
                knee_clearance_mm=None
                if foot.knee_clearance_mm is None
                else Decimal(repr(foot.knee_clearance_mm)).quantize(HUNDREDTH),
                reason=reason
                % {
                    "foot": version,
                    "steps": f"{steps:+d}",
                    "length": length_text(length_step_mm),
                    "girth": length_text(girth_step_mm),
                },
                by=by,
            )
        )
    return made


def size_run_start(
    style: StyleVersion, feet: list[FootVersion], *, by: AbstractBaseUser
) -> BackgroundJob:
    """Hand a size run to the worker, or return the same one if it is done or on its way.

    Raises
    ------
    PatternError
        The style or a foot cannot be used any more.
    """
    pattern = load_style(style.style.file_name)
    values = pattern.values(style.values)
    documents = [foot_document(foot) for foot in feet]
    engine = Asked(foot_read(documents[0]), documents[0], pattern, values, {}).engine
    inputs = {
        "engine": engine,
        "style": pattern.name,
        "file": pattern.sha256,
        "title": style.style.name,
        "values": values,
        "feet": [
            {
                "name": f"{foot.doll.code} {length_text(foot.foot_length)} mm",
                "version": foot.pk,
                "foot": document,
            }
            for foot, document in zip(feet, documents, strict=True)
        ],
    }
    key = work_key(SIZE_RUN, inputs)
    return work_found(SIZE_RUN, key) or work_start(SIZE_RUN, inputs, key=key, by=by)
