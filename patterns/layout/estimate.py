"""How much leather a pair takes, before there is a hide to lay it on.

The share wasted is taken from layouts measured before: those of the same style and near size
first, then of the style, then all. It comes with its spread, never as a bare figure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from patterns.errors import LayoutError

MEASURED_BY_ENGINE = "engine"  # laid out by our own search on invented hides
MEASURED_IN_WORKSHOP = "workshop"  # a real layout of this workshop

# A foot length this far off counts half as much; layouts of near sizes waste alike.
SIZE_HALF_MM = 10.0
OTHER_STYLE_WEIGHT = 0.25  # a layout of another style beside one of the style asked for
ENGINE_WEIGHT = 0.5  # a layout of invented hides beside one of the workshop's own
LEAST_SPREAD_SHARE = 0.02  # fewer layouts than a handful show too little of how they differ
SPREAD_OF_ONE_SHARE = 0.06  # the spread a single layout is given, as found between sample hides
COVERED = 0.8  # of layouts shall lie between the low and the high figure
SAMPLES_MAX = 10_000


@dataclass(frozen=True, slots=True)
class WasteSample:
    """One measured layout: what was laid and what was taken off the hide for it.

    Raises
    ------
    LayoutError
        An area is not above zero, or more was laid than taken.
    """

    style: str
    foot_length_mm: float
    pairs: int
    used_area_mm2: float
    taken_area_mm2: float
    measured: str = MEASURED_IN_WORKSHOP

    def __post_init__(self) -> None:
        if not (self.pairs >= 1 and 0.0 < self.used_area_mm2 <= self.taken_area_mm2 < math.inf):
            raise LayoutError(
                f"A measured layout of {self.style} lays {self.used_area_mm2:g} mm² and takes "
                f"{self.taken_area_mm2:g} mm². Give areas above zero, the laid one the smaller.",
                field="samples",
                code="bad_sample",
                style=self.style,
            )

    @property
    def waste_share(self) -> float:
        """Return the share of the leather taken that is not pieces."""
        return 1.0 - self.used_area_mm2 / self.taken_area_mm2


@dataclass(frozen=True, slots=True)
class LeatherEstimate:
    """The leather one pair takes: the likely area, and the low and high end of four in five.

    ``samples`` were looked at, ``own_samples`` of them real layouts of the style asked for.
    """

    area_mm2: float
    low_mm2: float
    high_mm2: float
    waste_share: float
    spread_share: float
    samples: int
    own_samples: int


def _measured(
    style: str, foot_length_mm: float, pairs: int, used_area_mm2: float, taken_area_mm2: float
) -> WasteSample:
    return WasteSample(
        style, foot_length_mm, pairs, used_area_mm2, taken_area_mm2, MEASURED_BY_ENGINE
    )


# Measured by our own search (engine "relaxed 3", 12 steps, seed 7): the upper pieces of a style,
# drafted on feet of usual proportions, as many pairs as the sample remnant and the sample hide of
# tests/data/nest gave. ``python -m tests.bench.measure_waste`` prints these lines.
DEFAULT_SAMPLES = (
    _measured("lace-shoe", 55.0, 3, 34614.0, 48787.0),
    _measured("lace-shoe", 55.0, 14, 136521.0, 204458.0),
    _measured("lace-shoe", 75.0, 1, 34041.0, 47722.0),
    _measured("lace-shoe", 75.0, 7, 137890.0, 201131.0),
    _measured("lace-shoe", 95.0, 1, 26480.0, 40284.0),
    _measured("lace-shoe", 95.0, 5, 146181.0, 204348.0),
    _measured("lace-up-ankle-boot", 55.0, 2, 34666.0, 48802.0),
    _measured("lace-up-ankle-boot", 55.0, 9, 132720.0, 204271.0),
    _measured("lace-up-ankle-boot", 75.0, 1, 27038.0, 42060.0),
    _measured("lace-up-ankle-boot", 75.0, 5, 146531.0, 204224.0),
    _measured("lace-up-ankle-boot", 95.0, 3, 146166.0, 203879.0),
    _measured("open-sandal", 55.0, 7, 18458.0, 48440.0),
    _measured("open-sandal", 55.0, 17, 44826.0, 202061.0),
    _measured("open-sandal", 75.0, 4, 19607.0, 47363.0),
    _measured("open-sandal", 75.0, 14, 68625.0, 203223.0),
    _measured("open-sandal", 95.0, 2, 15219.0, 44866.0),
    _measured("open-sandal", 95.0, 9, 68487.0, 200941.0),
    _measured("slip-on", 55.0, 4, 31542.0, 48192.0),
    _measured("slip-on", 55.0, 20, 139096.0, 204442.0),
    _measured("slip-on", 75.0, 2, 34135.0, 48906.0),
    _measured("slip-on", 75.0, 10, 133894.0, 200526.0),
    _measured("slip-on", 95.0, 1, 33331.0, 47669.0),
    _measured("slip-on", 95.0, 7, 143318.0, 204284.0),
    _measured("strap-shoe", 55.0, 4, 30456.0, 47856.0),
    _measured("strap-shoe", 55.0, 19, 131611.0, 204471.0),
    _measured("strap-shoe", 75.0, 2, 32711.0, 48880.0),
    _measured("strap-shoe", 75.0, 10, 136223.0, 204261.0),
    _measured("strap-shoe", 95.0, 1, 32647.0, 48786.0),
    _measured("strap-shoe", 95.0, 7, 137295.0, 204490.0),
    _measured("tall-lace-up-boot", 55.0, 1, 32051.0, 48900.0),
    _measured("tall-lace-up-boot", 55.0, 6, 137428.0, 203689.0),
    _measured("tall-lace-up-boot", 75.0, 3, 139775.0, 204043.0),
    _measured("tall-lace-up-boot", 95.0, 2, 139635.0, 203043.0),
)


def leather_estimate(
    net_area_mm2: float,
    *,
    style: str,
    foot_length_mm: float,
    samples: Sequence[WasteSample] = DEFAULT_SAMPLES,
) -> LeatherEstimate:
    """Return the leather a pair of that net area takes, with its spread.

    Parameters
    ----------
    net_area_mm2 : float
        Area of all pieces of one pair.
    style, foot_length_mm : str, float
        What is asked for; layouts of the same style and a near size count most.
    samples : sequence of WasteSample
        Measured layouts; the workshop's own may be added to the default ones.

    Raises
    ------
    LayoutError
        Code ``no_samples`` without any, ``too_many`` with over 10,000, ``out_of_range`` for an
        area or length that is not above zero.

    Notes
    -----
    taken = net / (1 - waste). The likely waste is the weighted mean of the samples' wastes; its
    spread their weighted standard deviation, never below 2 points, and 6 where a single layout
    is all there is. Low and high enclose four in five of a normal distribution.
    """
    _check(net_area_mm2, foot_length_mm, samples)
    weights = [_weight(sample, style, foot_length_mm) for sample in samples]
    total = math.fsum(weights)
    waste = math.fsum(w * s.waste_share for w, s in zip(weights, samples, strict=True)) / total
    spread = _spread(samples, weights, waste)
    reach = NormalDist().inv_cdf(0.5 + COVERED / 2.0) * spread
    low, high = max(0.0, waste - reach), min(0.95, waste + reach)
    return LeatherEstimate(
        area_mm2=net_area_mm2 / (1.0 - waste),
        low_mm2=net_area_mm2 / (1.0 - low),
        high_mm2=net_area_mm2 / (1.0 - high),
        waste_share=waste,
        spread_share=spread,
        samples=len(samples),
        own_samples=sum(s.style == style and s.measured == MEASURED_IN_WORKSHOP for s in samples),
    )


def _weight(sample: WasteSample, style: str, foot_length_mm: float) -> float:
    weight: float = 0.5 ** (abs(sample.foot_length_mm - foot_length_mm) / SIZE_HALF_MM)
    if sample.style != style:
        weight *= OTHER_STYLE_WEIGHT
    if sample.measured == MEASURED_BY_ENGINE:
        weight *= ENGINE_WEIGHT
    # However far off a size is, it still counts a little where there is no nearer one.
    return max(weight, 1e-6)


def _spread(samples: Sequence[WasteSample], weights: Sequence[float], mean: float) -> float:
    total = math.fsum(weights)
    squares = math.fsum(w * w for w in weights)
    if len(samples) == 1 or total * total <= squares * (1.0 + 1e-9):
        return SPREAD_OF_ONE_SHARE
    variance = math.fsum(
        w * (s.waste_share - mean) ** 2 for w, s in zip(weights, samples, strict=True)
    ) / (total - squares / total)
    return max(LEAST_SPREAD_SHARE, math.sqrt(variance))


def _check(net_area_mm2: float, foot_length_mm: float, samples: Sequence[WasteSample]) -> None:
    for field, value in (("net_area_mm2", net_area_mm2), ("foot_length_mm", foot_length_mm)):
        if not 0.0 < value < math.inf:
            raise LayoutError(
                f"{field} is {value:g}; it must be above zero.",
                field=field,
                code="out_of_range",
                value=value,
            )
    if not 1 <= len(samples) <= SAMPLES_MAX:
        raise LayoutError(
            f"There are {len(samples)} measured layouts; an estimate takes 1 to {SAMPLES_MAX}.",
            field="samples",
            code="too_many" if samples else "no_samples",
        )
