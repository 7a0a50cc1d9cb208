"""The only translation between records and the cores' values."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from costing.errors import BillError, CostError
from costing.leather import LeatherOffer
from costing.money import round_half_up
from costing.terms import (
    UNIT_COST_PLACES,
    BillTerms,
    ClayTerms,
    FlatTerms,
    LaceTerms,
    LacingPlan,
    LeatherTerms,
    SmallPartTerms,
    StitchMethod,
    ThreadTerms,
    WasteShare,
    cost_per_dm2,
)
from costing.units import unit_factor
from patterns.exchange.foot_file import document_from_foot
from patterns.foot import MEASURE_KEYS, Foot, LevelGirth
from patterns.hide import GradedArea
from patterns.hide import Hide as HideValue
from patterns.hide_area import hide_along_tight_way
from patterns.pieces.piece import Ring
from workshop.mesh_files import mesh_file_name, mesh_of
from workshop.models import FootVersion, Hide, LeatherLot, RateCard, Supply

MeasuresMm = dict[str, float]
PointMm = tuple[float, float]
Points = Iterable[Iterable[float]]

HUNDRED = Decimal(100)
THREAD_END_MM = 150.0  # loose at the two ends of a stitch line; common practice, no source
CARD_THICKNESS_MM = 1.0


def foot_from_version(version: FootVersion) -> Foot:
    """Return the core's foot of a stored version.

    Raises
    ------
    patterns.errors.FootError
        The measures contradict each other, as they may in a version made before a rule was; or
        the file of its mesh is lost.
    """
    digest = version.mesh.get("sha256", "")
    mesh = mesh_of(digest) if digest else None
    # No doll's name: a quote keeps this foot, and keeps no personal data.
    return Foot(**foot_values(version, name=str(version)), mesh=mesh)


def foot_by_measures(version: FootVersion) -> Foot:
    """Return a stored foot by its measures alone, without mesh or tracing.

    Raises
    ------
    patterns.errors.FootError
        The measures contradict each other.
    """
    values = foot_values(version, name=str(version))
    return Foot(**values | {"sole_outline_mm": None, "side_profile_mm": None})


def foot_document(version: FootVersion) -> dict[str, object]:
    """Return the FOOT.json of a stored version; its mesh is named by its content."""
    foot = Foot(**foot_values(version, name=str(version)))
    digest = version.mesh.get("sha256", "")
    return document_from_foot(foot, mesh=mesh_file_name(digest) if digest else None)


def foot_values(version: FootVersion, *, name: str) -> dict[str, Any]:
    """Return a version's values by the names of `Foot`'s parameters, unchecked."""
    return {
        "name": name,
        "measures_mm": {
            key: float(value)
            for key in MEASURE_KEYS
            if (value := getattr(version, key)) is not None
        },
        "foot_side": version.foot_side,
        "level_girths": level_girths_of(version.level_girths),
        "knee_clearance_mm": _optional(version.knee_clearance_mm),
        "sole_outline_mm": points_of(version.sole_outline),
        "side_profile_mm": points_of(version.side_profile),
    }


def level_girths_of(rows: list[dict[str, str]]) -> tuple[LevelGirth, ...]:
    """Return stored rows of height and girth as the core's values."""
    return tuple(LevelGirth(float(row["height_mm"]), float(row["girth_mm"])) for row in rows)


def points_of(points: list[list[float]]) -> tuple[PointMm, ...] | None:
    """Return stored points as the core's, None when there are none."""
    return tuple((float(x), float(y)) for x, y in points) or None


def _optional(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def as_written(value: Decimal) -> Decimal:
    """Return a stored figure without the idle zeros of its column, as a maker would write it.

    >>> as_written(Decimal("18.0000")), as_written(Decimal("0.775000")), as_written(Decimal("20"))
    (Decimal('18'), Decimal('0.775'), Decimal('20'))
    """
    plain = value.normalize()
    return plain if plain.as_tuple().exponent <= 0 else plain.quantize(Decimal(1))


def ring_from_points(points: Points) -> Ring:
    """Return stored points as a ring of the geometry core."""
    return tuple((float(x), float(y)) for x, y in points)


def hide_as_recorded(hide: Hide) -> HideValue:
    """Return a hide as its corner points were typed, named by its code."""
    return hide_value(
        hide.code, hide.outline, defects=hide.defects, areas=hide.areas, cost=hide.cost
    )


def hide_value(
    name: str,
    outline: Points,
    *,
    defects: Iterable[Mapping[str, Any]],
    areas: Iterable[Mapping[str, Any]],
    cost: Decimal | None = None,
) -> HideValue:
    """Return stored outline, defects and areas as a hide of the geometry core."""
    rows = list(defects)
    return HideValue(
        id=name,
        outline_mm=ring_from_points(outline),
        defects_mm=tuple(ring_from_points(row["outer"]) for row in rows),
        areas=tuple(area_value(row) for row in areas),
        cost=cost,
        defect_kinds=tuple(str(row["kind"]) for row in rows),
    )


def area_value(row: Mapping[str, Any]) -> GradedArea:
    """Return a stored area by grade as the core's value."""
    worth = row.get("worth_percent")
    return GradedArea(
        int(row["grade"]),
        ring_from_points(row["outer"]),
        str(row.get("name", "")),
        None if worth is None else float(Decimal(str(worth)) / HUNDRED),
    )


def hide_columns(value: HideValue) -> dict[str, Any]:
    """Return outline, defects and areas of a hide as records store them."""
    return {
        "outline": [list(point) for point in value.outline_mm],
        "defects": [
            {"kind": kind or "other", "outer": [list(point) for point in ring]}
            for kind, ring in value.named_defects
        ],
        "areas": [_area_columns(area) for area in value.areas],
    }


def _area_columns(area: GradedArea) -> dict[str, Any]:
    row: dict[str, Any] = {
        "grade": area.grade,
        "outer": [list(point) for point in area.outline_mm],
    }
    if area.name:
        row["name"] = area.name
    if area.worth_share is not None:
        row["worth_percent"] = round(100.0 * area.worth_share, 2)
    return row


def hide_from_record(hide: Hide) -> HideValue:
    """Return a hide as the layout takes it: turned so that its tight way runs along x."""
    return hide_along_tight_way(hide_as_recorded(hide), float(hide.tight_way_deg))


def leather_from_hide(hide: Hide) -> LeatherTerms:
    """Return the leather of a hide at the cost of this very hide for each dm2 of usable area."""
    return LeatherTerms(
        name=f"{hide.lot.name}, {hide.lot.colour} ({hide.code})",
        cost_per_dm2=as_written(cost_per_dm2(hide.cost, float(hide.area_mm2))),
        thickness_mm=float(hide.thickness_mm),
    )


def offer_of_lot(lot: LeatherLot) -> LeatherOffer:
    """Return a lot as the seller offers it: its price, smallest amount sold, a hide's size."""
    return LeatherOffer(
        name=f"{lot.name}, {lot.colour} ({lot.code})",
        price=as_written(lot.price),
        unit=lot.price_unit,
        smallest_dm2=lot.smallest_sold_dm2,
        hide_dm2=lot.whole_hide_dm2,
        thickness_mm=float(lot.thickness_mm),
    )


def bill_terms(
    *,
    upper: LeatherTerms,
    waste: WasteShare,
    supplies: Mapping[str, Supply],
    rates: RateCard,
    values: Mapping[str, float | str | bool],
    is_glued: bool = False,
) -> BillTerms:
    """Return everything chosen for a pair: leather, supplies, and the style's own figures.

    Parameters
    ----------
    upper : LeatherTerms
        The leather the upper is cut from, of a hide or of an offer.
    waste : WasteShare
        Its wasted share, measured on a layout or estimated.
    supplies : mapping
        The supply to use for each kind, such as ``{"thread": ...}``; a kind may be missing.
    rates : RateCard
        Shares of waste and spares.
    values : mapping
        The style's parameters in use.
    is_glued : bool
        The seams are glued: no thread.
    """
    kinds = Supply.Kind
    return BillTerms(
        upper=upper,
        upper_waste=waste,
        lining=_sheet(supplies.get(kinds.LINING), 0.6),
        lining_waste=_share(rates.lining_waste_pct),
        sole=_sole(supplies, rates, values),
        sole_waste=_share(rates.card_waste_pct),
        card=_sheet(supplies.get(kinds.CARD), CARD_THICKNESS_MM),
        card_waste=_share(rates.card_waste_pct),
        thread=_thread(supplies.get(kinds.THREAD), rates, values),
        lace=_lace(supplies.get(kinds.LACE), rates),
        lacing=_lacing(rates, values),
        eyelets=_eyelets(supplies.get(kinds.EYELET), rates),
        glue=_flat(supplies.get(kinds.GLUE), rates.glue_per_pair),
        box=_flat(supplies.get(kinds.BOX), Decimal(1)),
        is_glued=is_glued,
    )


def _lacing(rates: RateCard, values: Mapping[str, float | str | bool]) -> LacingPlan | None:
    plan = LacingPlan.from_parameters(values)
    return None if plan is None else replace(plan, lacing=rates.lacing)


def _share(percent: Decimal) -> WasteShare:
    return WasteShare(percent / HUNDRED, measured=False)


def cost_in(supply: Supply, unit: str) -> Decimal:
    """Return what a supply costs in the unit a bill counts it in.

    Raises
    ------
    costing.errors.BillError
        Its own unit does not turn into that one, as thread counted by the piece.
    """
    if supply.unit == unit:
        return as_written(supply.unit_cost)
    try:
        factor = unit_factor(supply.unit, unit)
    except CostError as error:
        raise BillError(f"{supply.name}: {error.text}", field="unit", code=error.code) from None
    return round_half_up(Fraction(supply.unit_cost) / factor, UNIT_COST_PLACES)


def _sheet(supply: Supply | None, thickness_mm: float) -> LeatherTerms | None:
    if supply is None:
        return None
    return LeatherTerms(supply.name, cost_in(supply, "dm2"), thickness_mm)


def _sole(
    supplies: Mapping[str, Supply], rates: RateCard, values: Mapping[str, float | str | bool]
) -> LeatherTerms | ClayTerms | None:
    thickness_mm = float(values["sole_thickness_mm"])
    clay = supplies.get(Supply.Kind.CLAY)
    leather = supplies.get(Supply.Kind.SOLE_LEATHER)
    if values.get("leather_sole") or clay is None:
        return _sheet(leather, thickness_mm)
    return ClayTerms(
        name=clay.name,
        cost_per_g=cost_in(clay, "g"),
        density_g_per_cm3=float(rates.clay_density_g_per_cm3),
        thickness_mm=thickness_mm,
        shrinkage_share=rates.clay_shrinkage_pct / HUNDRED,
        thickness_mm_by_piece=_heel_thickness(values),
    )


def _heel_thickness(values: Mapping[str, float | str | bool]) -> dict[str, float]:
    height_mm = float(values.get("heel_height_mm", 0.0))
    return {"heel": height_mm} if height_mm > 0.0 else {}


def _thread(
    supply: Supply | None, rates: RateCard, values: Mapping[str, float | str | bool]
) -> ThreadTerms | None:
    if supply is None:
        return None
    return ThreadTerms(
        name=supply.name,
        cost_per_m=cost_in(supply, "m"),
        method=_stitch(values),
        stitch_length_mm=float(values["stitch_length_mm"]),
        end_mm=THREAD_END_MM,
        added_share=rates.thread_waste_pct / HUNDRED,
    )


def _stitch(values: Mapping[str, float | str | bool]) -> StitchMethod:
    if values.get("hand_stitched"):
        return "saddle"
    return "chainstitch" if values.get("chain_stitched") else "lockstitch"


def _lace(supply: Supply | None, rates: RateCard) -> LaceTerms | None:
    if supply is None:
        return None
    return LaceTerms(
        name=supply.name,
        cost_per_m=cost_in(supply, "m"),
        tying_end_mm=float(rates.lace_tying_mm) / 2.0,
        sold_by_m=Decimal("0.1"),
        tip_mm=float(rates.lace_tip_mm),
    )


def _eyelets(supply: Supply | None, rates: RateCard) -> SmallPartTerms | None:
    if supply is None:
        return None
    return SmallPartTerms(supply.name, cost_in(supply, "piece"), rates.eyelet_spare_pct / HUNDRED)


def _flat(supply: Supply | None, quantity: Decimal) -> FlatTerms | None:
    if supply is None:
        return None
    return FlatTerms(supply.name, quantity, supply.get_unit_display(), as_written(supply.unit_cost))
