"""The workshop's own house sizes, and which feet of the library each fits."""

from dataclasses import dataclass

from django.db.models import Max, QuerySet

from patterns.errors import PatternError
from patterns.foot import Foot
from patterns.house_sizes import SizeFit, nearest_sizes
from workshop.bridge import foot_by_measures
from workshop.lengths import length_text
from workshop.models import Doll, FootVersion
from workshop.selectors.library import labels
from workshop.templatetags.job_words import signed_mm

SIZES_MOST = 60
FEET_MOST = 200
LENGTH_SHARE = 0.1  # feet further off in length than this fit no size anyway
WITHIN_MM = 2.0
NEAREST_SHOWN = 5


@dataclass(frozen=True, slots=True)
class HouseSize:
    """One of the workshop's own feet: its doll, its newest version, and its value."""

    version: FootVersion
    foot: Foot

    @property
    def length(self) -> str:
        """Return the foot's length as it was typed."""
        return length_text(self.version.foot_length)


@dataclass(frozen=True, slots=True)
class FootFit:
    """How a foot of the library differs from a house size."""

    version: FootVersion
    most_mm: float
    differences: list[tuple[str, str]]
    fits: bool

    @property
    def worst(self) -> tuple[str, str]:
        """Return the measure that differs most, and by how much."""
        return max(self.differences, key=lambda pair: abs(float(pair[1].replace("−", "-"))))


@dataclass(frozen=True, slots=True)
class SizeRow:
    """A house size and the feet it is the nearest for, the best fitting first."""

    size: HouseSize
    fits: list[FootFit]
    near: list[FootFit]


def house_sizes() -> list[HouseSize]:
    """Return the workshop's own feet by their length; those whose measures hold."""
    versions = _newest(Doll.objects.filter(customer=None))
    found = []
    for version in versions.order_by("foot_length", "id")[:SIZES_MOST]:
        try:
            found.append(HouseSize(version, foot_by_measures(version)))
        except PatternError:
            continue  # its own page says why
    return found


def _newest(dolls: QuerySet[Doll]) -> QuerySet[FootVersion]:
    """Return the newest foot of each doll."""
    newest = FootVersion.objects.filter(doll__in=dolls).values("doll").annotate(last=Max("id"))
    feet = FootVersion.objects.filter(pk__in=newest.values("last"))
    return feet.select_related("doll").defer("sole_outline", "side_profile")


def size_rows(sizes: list[HouseSize], *, within_mm: float = WITHIN_MM) -> list[SizeRow]:
    """Return each house size with the feet of the library it is the nearest for."""
    found: dict[str, list[FootFit]] = {str(size.version): [] for size in sizes}
    if sizes:
        least = float(sizes[0].version.foot_length) * (1 - LENGTH_SHARE)
        most = float(sizes[-1].version.foot_length) * (1 + LENGTH_SHARE)
        feet = _newest(Doll.objects.exclude(customer=None))
        near = feet.filter(foot_length__gte=least, foot_length__lte=most)
        for version in near.order_by("-id")[:FEET_MOST]:
            nearest = nearest_to(version, sizes)[:1]
            for size, fit in nearest:
                found[str(size.version)].append(foot_fit(version, fit, within_mm))
    return [_row(size, found[str(size.version)]) for size in sizes]


def _row(size: HouseSize, feet: list[FootFit]) -> SizeRow:
    ranked = sorted(feet, key=lambda fit: fit.most_mm)
    return SizeRow(
        size,
        [fit for fit in ranked if fit.fits],
        [fit for fit in ranked if not fit.fits][:NEAREST_SHOWN],
    )


def nearest_to(version: FootVersion, sizes: list[HouseSize]) -> list[tuple[HouseSize, SizeFit]]:
    """Return the house sizes with how a foot differs from each, the nearest first."""
    by_name = {size.foot.name: size for size in sizes}
    try:
        fits = nearest_sizes(foot_by_measures(version), [size.foot for size in sizes])
    except PatternError:
        return []
    return [(by_name[fit.size], fit) for fit in fits]


def foot_fit(version: FootVersion, fit: SizeFit, within_mm: float = WITHIN_MM) -> FootFit:
    """Return a difference in words."""
    words = [(labels()[key], signed_mm(difference)) for key, difference in fit.differences_mm]
    return FootFit(version, fit.most_mm, words, fit.most_mm <= within_mm)
