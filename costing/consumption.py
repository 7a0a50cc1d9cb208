"""How much a boot takes of what is not cut from a hide: thread, lace, clay, small parts."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import ceil, dist, hypot, isfinite

from costing.errors import BillError

# Hand saddle stitch takes 3 to 4 times the seam, beside the tails: common practice, no source.
SADDLE_RATIO_LEAST = 3.0
SADDLE_RATIO_MOST = 4.0
# Added to a machine's thread for waste: 10-15 %, as garment costing does (apparelscience.com).
THREAD_ADDED_SHARE_LEAST = Decimal("0.10")
THREAD_ADDED_SHARE_MOST = Decimal("0.15")
MM3_PER_CM3 = 1000.0


def lockstitch_thread_ratio(seam_thickness_mm: float, stitch_length_mm: float) -> float:
    """Return the thread a lockstitch takes for each mm of seam, needle and bobbin together.

    Notes
    -----
    For each unit of seam 2 + 2 T S, with T the thickness sewn through and S the stitches in a
    unit of length (textilecalculations.com, "Calculate amount of sewing thread consumption").

    Examples
    --------
    >>> round(lockstitch_thread_ratio(2.0, 3.0), 2)
    3.33
    """
    _check_above_zero(seam_thickness_mm, "thickness_mm")
    _check_above_zero(stitch_length_mm, "stitch_length_mm")
    return 2.0 + 2.0 * seam_thickness_mm / stitch_length_mm


def chainstitch_thread_ratio(seam_thickness_mm: float, stitch_length_mm: float) -> float:
    """Return the thread a single-thread chainstitch takes for each mm of seam.

    Notes
    -----
    3 + 2 T S, with T the thickness sewn through and S the stitches in a unit of length
    (textilecalculations.com, "Calculate amount of sewing thread consumption").

    Examples
    --------
    >>> round(chainstitch_thread_ratio(0.127, 25.4 / 9), 2)
    3.09
    """
    _check_above_zero(seam_thickness_mm, "thickness_mm")
    _check_above_zero(stitch_length_mm, "stitch_length_mm")
    return 3.0 + 2.0 * seam_thickness_mm / stitch_length_mm


def thread_length_mm(
    seam_mm: float, ratio: float, *, ends_mm: float = 0.0, added_share: float = 0.0
) -> float:
    """Return the thread for a seam: seam x ratio and the loose ends, and a share more for waste.

    >>> round(thread_length_mm(100.0, 3.0, ends_mm=80.0, added_share=0.15), 6)
    437.0
    """
    return (seam_mm * ratio + ends_mm) * (1.0 + added_share)


LACINGS = ("criss-cross", "straight", "shop")


def lacing_length_mm(lacing: str, opening_mm: float, pitches_mm: Sequence[float]) -> float:
    """Return the lace that lies over an opening, without ends, for a pattern of lacing.

    Parameters
    ----------
    lacing : {"criss-cross", "straight", "shop"}
        Every row crossed; a level run at every row but one, the long runs beneath reaching two
        rows on; or level runs and one run from the first row to the last.
    opening_mm, pitches_mm
        As for `criss_cross_length_mm`.

    Raises
    ------
    BillError
        The pattern is not one of the three; the opening or a pitch is not above zero.

    Notes
    -----
    Straight, with n rows: (n - 1) g + 2 sqrt(g^2 + d^2) + (n - 2) sqrt(g^2 + 4 d^2); shop:
    (n - 1) g + (n - 1) sqrt(g^2 + d^2) + sqrt(g^2 + (n - 1)^2 d^2); here with the pitches as they
    are. The forms are from memory, their order of length is published ("The Shoelace Problem",
    Mathematical Intelligencer, 1995). With two rows all three are the same.

    Examples
    --------
    >>> [round(lacing_length_mm(way, 20.0, [8.0] * 3), 1) for way in LACINGS]
    [149.2, 154.3, 155.9]
    """
    crossed_mm = criss_cross_length_mm(opening_mm, pitches_mm)
    if lacing == "criss-cross":
        return crossed_mm
    level_mm = opening_mm * len(pitches_mm)
    steps_mm = [hypot(opening_mm, pitch_mm) for pitch_mm in pitches_mm]
    if lacing == "shop":
        return level_mm + sum(steps_mm) + hypot(opening_mm, sum(pitches_mm))
    if lacing == "straight":
        long_mm = [hypot(opening_mm, one + two) for one, two in pairwise(pitches_mm)]
        return level_mm + steps_mm[0] + steps_mm[-1] + sum(long_mm)
    raise BillError(
        f"{lacing[:40]!r} is no pattern of lacing; choose one of " + ", ".join(LACINGS),
        field="lacing",
        code="lacing_unknown",
    )


def criss_cross_length_mm(opening_mm: float, pitches_mm: Sequence[float]) -> float:
    """Return the lace that lies over an opening in open criss-cross lacing, without ends.

    Parameters
    ----------
    opening_mm : float
        Distance of the two rows of eyelet centres, above zero.
    pitches_mm : sequence of float
        Distances of neighbouring eyelets along one row, one fewer than there are rows.

    Raises
    ------
    BillError
        The opening or a pitch is not above zero.

    Notes
    -----
    One straight run at the toe and two crossings for each step up: g + 2 sum sqrt(g^2 + d^2).
    The form is the usual idealised one ("The Shoelace Problem", Mathematical Intelligencer, 1995);
    eyelets are points and the lace has no thickness.

    Examples
    --------
    >>> round(criss_cross_length_mm(20.0, [8.0, 8.0]), 3)
    106.163
    """
    if not (isfinite(opening_mm) and opening_mm > 0.0):
        raise BillError(
            f"the opening between the two rows of eyelets is {opening_mm:g} mm; it must be above"
            " 0: widen the lace gap or set the eyelets further from the edge",
            field="lace_gap_mm",
            code="lace_opening",
            opening_mm=opening_mm,
        )
    for pitch_mm in pitches_mm:
        _check_above_zero(pitch_mm, "eyelet_pitch_mm")
    return opening_mm + 2.0 * sum(hypot(opening_mm, pitch_mm) for pitch_mm in pitches_mm)


def row_pitches_mm(centres_mm: Sequence[tuple[float, float]]) -> list[float]:
    """Return the distances of neighbouring holes along a row, whatever order they are given in.

    >>> row_pitches_mm([(0.0, 8.0), (0.0, 18.0), (0.0, 0.0)])
    [10.0, 8.0]
    """
    start = max(centres_mm, key=lambda centre: dist(centres_mm[0], centre))  # an end of the row
    row = sorted(centres_mm, key=lambda centre: dist(start, centre))
    return [dist(one, two) for one, two in pairwise(row)]


def clay_mass_g(volume_mm3: float, density_g_per_cm3: float, shrinkage_share: float) -> float:
    """Return the raw clay for a finished volume.

    Parameters
    ----------
    volume_mm3 : float
        Volume after baking or drying.
    density_g_per_cm3 : float
        Density of the raw clay.
    shrinkage_share : float
        Share by which every length shrinks, from 0 up to, but not at, 1.

    Examples
    --------
    >>> clay_mass_g(5000.0, 1.8, 0.0)
    9.0
    """
    raw_mm3 = volume_mm3 / (1.0 - shrinkage_share) ** 3
    return raw_mm3 / MM3_PER_CM3 * density_g_per_cm3


def with_spares(count: int, spare_share: Decimal) -> int:
    """Return a count with a share of spares, up to whole ones.

    >>> with_spares(24, Decimal("0.05")), with_spares(0, Decimal("0.05"))
    (26, 0)
    """
    return ceil(count * (1 + Fraction(spare_share)))


def up_to_whole_steps(length: Decimal, step: Decimal) -> Decimal:
    """Return a length rounded up to whole steps, as laces are sold.

    >>> up_to_whole_steps(Decimal("0.431"), Decimal("0.1"))
    Decimal('0.5')
    """
    return ceil(Fraction(length) / Fraction(step)) * step


def _check_above_zero(value: float, field: str) -> None:
    if not (isfinite(value) and value > 0.0):
        raise BillError(
            f"must be above 0, not {value:g}", field=field, code="length_not_positive", value=value
        )
