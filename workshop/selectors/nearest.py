"""The feet of the library nearest to the few measures known of a doll."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import F, FloatField, Max
from django.db.models.functions import Abs, Cast
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.house_sizes import FITTED
from patterns.measures import complete_measures
from workshop.bridge import foot_by_measures
from workshop.drafting import asked_of, drafted
from workshop.fit import FitLine, fit_lines
from workshop.models import Doll, FootVersion, StyleVersion
from workshop.selectors.library import labels
from workshop.templatetags.job_words import signed_mm

LOOKED_AT = 200
SHOWN = 8
DIFFERENCES_SHOWN = 3


@dataclass(frozen=True, slots=True)
class NearFoot:
    """A foot of the library: its distance, and where it differs most."""

    version: FootVersion
    distance_mm: float
    differences: list[tuple[str, str]]


def nearest_feet(doll: Doll, measures: Mapping[str, Decimal]) -> list[NearFoot]:
    """Return the newest foot of each other doll, the nearest first.

    The distance is the root of the mean of the squared differences over the measures given, in mm;
    a foot that lacks one is taken with the value inferred for it.
    """
    newest = FootVersion.objects.exclude(doll=doll).values("doll").annotate(last=Max("id"))
    length = float(measures["foot_length"])
    feet = (
        FootVersion.objects.filter(pk__in=newest.values("last"))
        .annotate(off=Abs(Cast(F("foot_length"), FloatField()) - length))
        .select_related("doll")
        .order_by("off", "id")[:LOOKED_AT]
    )
    found = [near for version in feet if (near := _near(version, measures)) is not None]
    return sorted(found, key=lambda near: near.distance_mm)[:SHOWN]


def _near(version: FootVersion, measures: Mapping[str, Decimal]) -> NearFoot | None:
    try:
        known = complete_measures(foot_by_measures(version)).values_mm
    except PatternError:
        return None  # its own page says why
    off = {key: known[key] - float(measures[key]) for key in FITTED if key in measures}
    distance = (sum(value * value for value in off.values()) / len(off)) ** 0.5
    worst = sorted(off.items(), key=lambda pair: -abs(pair[1]))[:DIFFERENCES_SHOWN]
    words = [(labels()[key], signed_mm(value)) for key, value in worst]
    return NearFoot(version, distance, words)


def style_fit(version: FootVersion, style: StyleVersion) -> list[FitLine]:
    """Return how a style fits a foot of the library, as a job's page tells it."""
    try:
        return fit_lines(drafted(asked_of(version, style, {}, {})).pieces)
    except PatternError as error:
        return [FitLine("stop", str(error))]


def taken_over_words(version: FootVersion) -> str:
    """Return why a doll has a foot that was never measured on it."""
    return _("not measured: taken over from %(doll)s, %(foot)s") % {
        "doll": version.doll.name,
        "foot": version,
    }
