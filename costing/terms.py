"""What is bought and on what terms: the choices that turn pieces into a bill of materials."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Literal, Self, get_args

from costing.consumption import SADDLE_RATIO_LEAST, SADDLE_RATIO_MOST
from costing.errors import BillError
from costing.labour import checked_name
from costing.money import round_half_up
from costing.numbers import checked_number, checked_share

StitchMethod = Literal["lockstitch", "chainstitch", "saddle"]
WASTE_SHARE_PLACES = 4  # a hundredth of a percent
UNIT_COST_PLACES = 6
MM2_PER_DM2 = 10_000


@dataclass(frozen=True, slots=True)
class LeatherTerms:
    """A leather, or another sheet cut to outlines, at its cost for each dm2.

    ``thickness_mm`` is None where it plays no part, as for card.
    """

    name: str
    cost_per_dm2: Decimal
    thickness_mm: float | None = None

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.cost_per_dm2, "cost_per_dm2")
        if self.thickness_mm is not None:
            _check_length(self.thickness_mm, "thickness_mm", above_zero=True)


@dataclass(frozen=True, slots=True)
class WasteShare:
    """The wasted share of what is taken, 0 up to 1; measured on a layout, or typed beforehand."""

    share: Decimal
    measured: bool

    def __post_init__(self) -> None:
        checked_share(self.share, "waste_share")


def measured_waste(net_area_mm2: float, taken_area_mm2: float) -> WasteShare:
    """Return the waste found on a layout: 1 - net / taken, to a hundredth of a percent.

    Raises
    ------
    BillError
        The pieces cover nothing, or more than was taken.

    Examples
    --------
    >>> measured_waste(28_000.0, 40_000.0).share
    Decimal('0.3000')
    """
    if not (isfinite(taken_area_mm2) and 0.0 < net_area_mm2 <= taken_area_mm2):
        raise BillError(
            f"the pieces cover {net_area_mm2:g} mm2 of {taken_area_mm2:g} mm2 taken; the area taken"
            " must be the larger, and neither may be 0",
            field="taken_area_mm2",
            code="waste_areas",
        )
    share = 1 - Fraction(net_area_mm2) / Fraction(taken_area_mm2)
    return WasteShare(round_half_up(share, WASTE_SHARE_PLACES), measured=True)


@dataclass(frozen=True, slots=True)
class HideTake:
    """What a layout takes of one hide: the pieces' area, the area used up, its cost for a dm2."""

    hide: str
    net_area_mm2: float
    taken_area_mm2: float
    cost_per_dm2: Decimal

    def __post_init__(self) -> None:
        checked_name(self.hide, "hide")
        checked_number(self.cost_per_dm2, "cost_per_dm2")
        measured_waste(self.net_area_mm2, self.taken_area_mm2)


def leather_of_hides(
    name: str, thickness_mm: float | None, takes: Sequence[HideTake]
) -> tuple[LeatherTerms, WasteShare]:
    """Return the leather and the waste of pieces that were laid out on several hides.

    The cost for a dm2 is what the areas taken cost at each hide's own cost, over all of the area
    taken; it is rounded to a millionth of the currency's unit.

    Raises
    ------
    BillError
        There is no hide.

    Examples
    --------
    >>> takes = [
    ...     HideTake("H-0001", 30_000.0, 40_000.0, Decimal("1.20")),
    ...     HideTake("H-0002", 12_000.0, 20_000.0, Decimal("1.50")),
    ... ]
    >>> leather, waste = leather_of_hides("kid", 0.8, takes)
    >>> leather.cost_per_dm2, waste.share
    (Decimal('1.300000'), Decimal('0.3000'))
    """
    if not takes:
        raise BillError("no hide was taken", field="takes", code="no_hide")
    taken_mm2 = sum((Fraction(take.taken_area_mm2) for take in takes), Fraction(0))
    money = sum(
        (Fraction(take.taken_area_mm2) * Fraction(take.cost_per_dm2) for take in takes),
        Fraction(0),
    )
    cost_per_dm2 = round_half_up(money / taken_mm2, UNIT_COST_PLACES)
    waste = measured_waste(sum(take.net_area_mm2 for take in takes), float(taken_mm2))
    return LeatherTerms(name, cost_per_dm2, thickness_mm), waste


def cost_per_dm2(cost: Decimal, usable_area_mm2: float) -> Decimal:
    """Return what a dm2 of one hide cost: its whole cost over its usable area.

    >>> cost_per_dm2(Decimal("48.00"), 400_000.0)
    Decimal('1.200000')
    """
    checked_number(cost, "cost")
    _check_length(usable_area_mm2, "usable_area_mm2", above_zero=True)
    return round_half_up(Fraction(cost) / Fraction(usable_area_mm2) * MM2_PER_DM2, UNIT_COST_PLACES)


@dataclass(frozen=True, slots=True)
class ClayTerms:
    """A clay for soles, by weight.

    Parameters
    ----------
    name : str
        What it is.
    cost_per_g : Decimal
        Money for a gram of raw clay.
    density_g_per_cm3 : float
        Density of the raw clay.
    thickness_mm : float
        Thickness of the finished sole.
    shrinkage_share : Decimal
        Share by which each length shrinks in baking or drying.
    thickness_mm_by_piece : mapping
        Other thicknesses by the piece's name, such as a heel's mean height.
    """

    name: str
    cost_per_g: Decimal
    density_g_per_cm3: float
    thickness_mm: float
    shrinkage_share: Decimal = Decimal(0)
    thickness_mm_by_piece: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.cost_per_g, "cost_per_g")
        checked_share(self.shrinkage_share, "shrinkage_share")
        _check_length(self.density_g_per_cm3, "density_g_per_cm3", above_zero=True)
        _check_length(self.thickness_mm, "thickness_mm", above_zero=True)
        for piece, thickness_mm in self.thickness_mm_by_piece.items():
            _check_length(thickness_mm, f"thickness_mm_by_piece.{piece}", above_zero=True)


@dataclass(frozen=True, slots=True)
class ThreadTerms:
    """A thread and how it is sewn.

    Parameters
    ----------
    name, cost_per_m
        What it is, and money for a metre.
    method : {"lockstitch", "chainstitch", "saddle"}
        Machine lockstitch or chainstitch, or saddle stitch by hand with two needles.
    stitch_length_mm : float
        Length of a stitch.
    end_mm : float
        Thread left loose at the two ends of each stitch line, all tails together.
    added_share : Decimal
        Share added for waste; 0.10 to 0.15 is usual.
    saddle_ratio : float
        Thread for each mm of saddle-stitched seam, 3 to 4.
    """

    name: str
    cost_per_m: Decimal
    method: StitchMethod
    stitch_length_mm: float
    end_mm: float
    added_share: Decimal
    saddle_ratio: float = 3.5

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.cost_per_m, "cost_per_m")
        checked_share(self.added_share, "added_share")
        _check_length(self.stitch_length_mm, "stitch_length_mm", above_zero=True)
        _check_length(self.end_mm, "end_mm")
        if self.method not in get_args(StitchMethod):
            raise BillError(
                "must be one of " + ", ".join(get_args(StitchMethod)),
                field="method",
                code="method_unknown",
            )
        if not SADDLE_RATIO_LEAST <= self.saddle_ratio <= SADDLE_RATIO_MOST:
            raise BillError(
                f"must be from {SADDLE_RATIO_LEAST:g} to {SADDLE_RATIO_MOST:g}, not"
                f" {self.saddle_ratio:g}",
                field="saddle_ratio",
                code="saddle_ratio_range",
            )


@dataclass(frozen=True, slots=True)
class LaceTerms:
    """A lace by the metre; it is costed by its length and bought in steps of ``sold_by_m``.

    ``tying_end_mm`` is left free at each end for the bow, ``tip_mm`` goes into each tip.
    """

    name: str
    cost_per_m: Decimal
    tying_end_mm: float
    sold_by_m: Decimal
    tip_mm: float = 0.0

    def __post_init__(self) -> None:
        _check_length(self.tip_mm, "tip_mm")
        checked_name(self.name)
        checked_number(self.cost_per_m, "cost_per_m")
        _check_length(self.tying_end_mm, "tying_end_mm")
        checked_number(self.sold_by_m, "sold_by_m", above_zero=True)


@dataclass(frozen=True, slots=True)
class LacingPlan:
    """How the two rows of eyelets lie over the foot.

    Parameters
    ----------
    lace_gap_mm : float
        Distance of the two edges on the last; below zero where they overlap.
    eyelet_to_edge_mm : float
        Distance of the eyelet centres from their edge.
    lacing : str
        One of `costing.consumption.LACINGS`.
    """

    lace_gap_mm: float
    eyelet_to_edge_mm: float
    lacing: str = "criss-cross"

    @property
    def opening_mm(self) -> float:
        """Return the distance of the two rows of eyelet centres."""
        return self.lace_gap_mm + 2.0 * self.eyelet_to_edge_mm

    @classmethod
    def from_parameters(cls, parameters: Mapping[str, object]) -> Self | None:
        """Return the plan of a style's parameters; None where they say nothing of a lace.

        Reads ``lace_gap_mm`` and ``eyelet_edge_mm``.
        """
        gap_mm, edge_mm = parameters.get("lace_gap_mm"), parameters.get("eyelet_edge_mm")
        if isinstance(gap_mm, int | float) and isinstance(edge_mm, int | float):
            return cls(float(gap_mm), float(edge_mm))
        return None


@dataclass(frozen=True, slots=True)
class SmallPartTerms:
    """Eyelets or hooks, by the piece, with a share of spares."""

    name: str
    cost_each: Decimal
    spare_share: Decimal

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.cost_each, "cost_each")
        checked_number(self.spare_share, "spare_share")


@dataclass(frozen=True, slots=True)
class FlatTerms:
    """Something every pair takes the same amount of: glue, a box."""

    name: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.quantity, "quantity")
        checked_number(self.unit_cost, "unit_cost")


@dataclass(frozen=True, slots=True)
class BillTerms:
    """Everything chosen for one pair; None where it is not used.

    ``sole`` says by its kind whether soles are cut from leather or formed of clay; ``lacing`` is
    None for footwear without a lace, even if it has eyelets. ``is_glued`` says that the seams are
    glued and take no thread.
    """

    upper: LeatherTerms
    upper_waste: WasteShare
    lining: LeatherTerms | None = None
    lining_waste: WasteShare | None = None
    sole: LeatherTerms | ClayTerms | None = None
    sole_waste: WasteShare | None = None
    card: LeatherTerms | None = None
    card_waste: WasteShare | None = None
    thread: ThreadTerms | None = None
    lace: LaceTerms | None = None
    lacing: LacingPlan | None = None
    eyelets: SmallPartTerms | None = None
    hooks: SmallPartTerms | None = None
    glue: FlatTerms | None = None
    box: FlatTerms | None = None
    is_glued: bool = False


def _check_length(value: float, name: str, *, above_zero: bool = False) -> None:
    if not isfinite(value) or value < 0.0 or (above_zero and value == 0.0):
        least = "above 0" if above_zero else "0 or more"
        raise BillError(
            f"must be {least}, not {value:g}", field=name, code="length_range", value=value
        )
