"""Bill of materials: what one pair takes of each material, read from its pattern pieces.

This is the one module of costing that reads patterns. The geometry gives floats; each quantity
becomes a `Decimal` once, by rounding its sum half up to the places named below, and is exact
from there on.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from costing.bill_line import BillKey, BillLine
from costing.consumption import (
    chainstitch_thread_ratio,
    clay_mass_g,
    lacing_length_mm,
    lockstitch_thread_ratio,
    row_pitches_mm,
    thread_length_mm,
    up_to_whole_steps,
    with_spares,
)
from costing.errors import BillError
from costing.how import How
from costing.labour import WorkDrivers
from costing.money import round_half_up
from costing.numbers import shown, typed
from costing.overhead import PERCENT
from costing.terms import (
    BillTerms,
    ClayTerms,
    FlatTerms,
    LaceTerms,
    LacingPlan,
    LeatherTerms,
    SmallPartTerms,
    ThreadTerms,
    WasteShare,
)
from patterns.geometry.curves import polyline_length_mm
from patterns.geometry.outline import outline_area_mm2
from patterns.pieces.piece import Hole, Material, Piece, PieceSet, Point
from patterns.units import mm2_to_dm2

AREA_DM2_PLACES = 4  # 1 mm2
LENGTH_M_PLACES = 3  # 1 mm
LENGTH_MM_PLACES = 1
MASS_G_PLACES = 2
MM_PER_M = 1000.0
SHOES_PER_PAIR = 2


def bill_of_materials(piece_sets: Sequence[PieceSet], terms: BillTerms) -> tuple[BillLine, ...]:
    """Return the lines of one pair's bill of materials.

    Parameters
    ----------
    piece_sets : sequence of PieceSet
        One set for a pair, or one for the left and one for the right shoe.
    terms : BillTerms
        Leathers, supplies and how they are used.

    Raises
    ------
    BillError
        The sets do not make one pair; the pieces need a material that is not chosen (``field``
        is its name in the terms); the two rows of eyelets would meet.
    """
    _check_one_pair(piece_sets)
    pieces = _all_pieces(piece_sets)
    lines: list[BillLine] = []
    lines += _area_lines("upper", _of(pieces, "upper"), terms.upper, terms.upper_waste)
    lines += _area_lines("lining", _of(pieces, "lining"), terms.lining, terms.lining_waste)
    lines += _sole_lines(_of(pieces, "sole"), terms)
    lines += _area_lines("card", _of(pieces, "card"), terms.card, terms.card_waste)
    lines += _thread_lines(piece_sets, terms)
    lines += [line for one_set in piece_sets for line in _lace_lines(one_set, terms)]
    lines += _hole_lines("eyelets", _hole_count(pieces, "eyelet"), terms.eyelets)
    lines += _hole_lines("hooks", _hole_count(pieces, "hook"), terms.hooks)
    lines += _flat_lines("glue", terms.glue)
    lines += _flat_lines("box", terms.box)
    return tuple(lines)


def work_drivers(piece_sets: Sequence[PieceSet]) -> WorkDrivers:
    """Return how much there is to cut, set, stitch and last for one pair.

    Every copy of every piece counts as one to cut; lasting is measured along the upper's lasting
    edges, as the lining is drawn over together with it. Lengths are rounded to 0.1 mm.
    """
    _check_one_pair(piece_sets)
    pieces = _all_pieces(piece_sets)
    lasted_mm = sum(
        polyline_length_mm(edge.points_mm) * piece.quantity
        for piece in _of(pieces, "upper")
        for edge in piece.edges
        if edge.kind == "lasting"
    )
    return WorkDrivers(
        pieces=_copies(pieces),
        eyelets=_hole_count(pieces, "eyelet"),
        stitched_mm=_decimal(_sewn_mm(piece_sets), LENGTH_MM_PLACES),
        lasted_mm=_decimal(lasted_mm, LENGTH_MM_PLACES),
        shoes=SHOES_PER_PAIR,
    )


def net_area_mm2(piece_sets: Sequence[PieceSet], material: Material) -> float:
    """Return the area within the cut lines of all copies of one material's pieces for a pair."""
    return _net_area_mm2(_of(_all_pieces(piece_sets), material))


def _check_one_pair(piece_sets: Sequence[PieceSet]) -> None:
    sides = sorted(one_set.foot_side for one_set in piece_sets)
    if sides not in (["pair"], ["left", "right"]):
        raise BillError(
            "a bill is for one pair: give one set of pieces for a pair, or one for the left and"
            f" one for the right shoe, not {' and '.join(sides) or 'none'}",
            field="pieces",
            code="not_one_pair",
        )


def _all_pieces(piece_sets: Sequence[PieceSet]) -> tuple[Piece, ...]:
    return tuple(piece for one_set in piece_sets for piece in one_set.pieces)


def _of(pieces: Iterable[Piece], material: Material) -> tuple[Piece, ...]:
    return tuple(piece for piece in pieces if piece.material == material)


def _copies(pieces: Iterable[Piece]) -> int:
    return sum(piece.quantity for piece in pieces)


def _decimal(value: float, places: int) -> Decimal:
    return round_half_up(Fraction(value), places)


def _net_area_mm2(pieces: Iterable[Piece]) -> float:
    return sum(outline_area_mm2(piece.cut_mm, name=piece.name) * piece.quantity for piece in pieces)


def _needed(key: str) -> BillError:
    return BillError(
        f"the pieces need {key.replace('_', ' ')}, but none is chosen; choose one",
        field=key,
        code="material_not_chosen",
        material=key,
    )


def _area_lines(
    key: Literal["upper", "lining", "sole", "card"],
    pieces: Sequence[Piece],
    sheet: LeatherTerms | None,
    waste: WasteShare | None,
) -> Iterator[BillLine]:
    if not pieces:
        return
    if sheet is None:
        raise _needed(key)
    if waste is None:
        raise _needed(f"{key}_waste")
    quantity = _decimal(mm2_to_dm2(_net_area_mm2(pieces)), AREA_DM2_PLACES)
    how = How(
        "bill_area_measured" if waste.measured else "bill_area_estimated",
        {
            "pieces": str(_copies(pieces)),
            "quantity": shown(quantity),
            "waste": shown(waste.share * PERCENT),
        },
    )
    yield BillLine(
        key=key,
        name=sheet.name,
        quantity=quantity,
        unit="dm2",
        unit_cost=sheet.cost_per_dm2,
        waste_share=waste.share,
        how_parts=how,
        estimated=not waste.measured,
    )


def _sole_lines(pieces: Sequence[Piece], terms: BillTerms) -> Iterator[BillLine]:
    if isinstance(terms.sole, ClayTerms):
        yield from _clay_lines(pieces, terms.sole)
    else:
        yield from _area_lines("sole", pieces, terms.sole, terms.sole_waste)


def _clay_lines(pieces: Sequence[Piece], clay: ClayTerms) -> Iterator[BillLine]:
    """Yield the clay of soles taken as slabs: finished outline x thickness.

    Clay is trimmed to the net line and the trimmings are used again, so nothing is wasted.
    """
    if not pieces:
        return
    volume_mm3 = sum(
        outline_area_mm2(piece.net_mm, name=piece.name)
        * piece.quantity
        * _clay_thickness_mm(piece, clay)
        for piece in pieces
    )
    mass_g = clay_mass_g(volume_mm3, clay.density_g_per_cm3, float(clay.shrinkage_share))
    quantity = _decimal(mass_g, MASS_G_PLACES)
    how = How(
        "bill_clay",
        {
            "pieces": str(_copies(pieces)),
            "volume": shown(_decimal(volume_mm3 / 1000.0, 2)),
            "shrinkage": shown(clay.shrinkage_share * PERCENT),
            "density": f"{clay.density_g_per_cm3:g}",
            "quantity": shown(quantity),
        },
    )
    yield BillLine("clay", clay.name, quantity, "g", clay.cost_per_g, Decimal(0), how)


def _clay_thickness_mm(piece: Piece, clay: ClayTerms) -> float:
    """Return a solid part's own thickness, else what the terms say of it."""
    if piece.thickness_mm is not None:
        return piece.thickness_mm
    return clay.thickness_mm_by_piece.get(piece.name, clay.thickness_mm)


def _sewn_lines(piece_sets: Iterable[PieceSet]) -> Iterator[tuple[tuple[Point, ...], int]]:
    """Yield each line sewn, with the number of times it is sewn for a pair.

    These are the stitch lines drawn on pieces, and the closed seams: two edges of kind "seam" laid
    on each other are sewn along their net line, which is not drawn again as a stitch line.
    """
    for one_set in piece_sets:
        for piece in one_set.pieces:
            for line in piece.lines:
                if line.kind == "stitch":
                    yield line.points_mm, piece.quantity
        yield from _closed_seams(one_set)


def _closed_seams(one_set: PieceSet) -> Iterator[tuple[tuple[Point, ...], int]]:
    seams = {
        (piece.name, edge.name): (piece, edge)
        for piece in one_set.pieces
        for edge in piece.edges
        if edge.kind == "seam"
    }
    seen: set[frozenset[tuple[str, str]]] = set()
    for own, (piece, edge) in seams.items():
        if edge.partner is None:
            continue
        other = (edge.partner.piece, edge.partner.edge)
        if other in seams and frozenset((own, other)) not in seen:
            seen.add(frozenset((own, other)))
            # An edge that is its own partner joins two copies of one piece.
            yield edge.points_mm, piece.quantity // 2 if own == other else piece.quantity


def _sewn_mm(piece_sets: Iterable[PieceSet]) -> float:
    return sum(polyline_length_mm(points) * times for points, times in _sewn_lines(piece_sets))


def _thread_lines(piece_sets: Sequence[PieceSet], terms: BillTerms) -> Iterator[BillLine]:
    seam_mm = _sewn_mm(piece_sets)
    if seam_mm == 0.0 or terms.is_glued:
        return
    if terms.thread is None:
        raise _needed("thread")
    thread = terms.thread
    ratio = _thread_ratio(_all_pieces(piece_sets), terms, thread)
    ends_mm = thread.end_mm * sum(times for _points, times in _sewn_lines(piece_sets))
    length_mm = thread_length_mm(
        seam_mm, ratio, ends_mm=ends_mm, added_share=float(thread.added_share)
    )
    quantity = _decimal(length_mm / MM_PER_M, LENGTH_M_PLACES)
    how = How(
        "bill_thread",
        {
            "seam": shown(_decimal(seam_mm / MM_PER_M, LENGTH_M_PLACES)),
            "factor": shown(_decimal(ratio, 2)),
            "ends": shown(_decimal(ends_mm / MM_PER_M, LENGTH_M_PLACES)),
            "added": shown(thread.added_share * PERCENT),
            "quantity": shown(quantity),
        },
    )
    yield BillLine("thread", thread.name, quantity, "m", thread.cost_per_m, Decimal(0), how)


def _thread_ratio(pieces: Sequence[Piece], terms: BillTerms, thread: ThreadTerms) -> float:
    if thread.method == "saddle":
        return thread.saddle_ratio
    # A seam joins two layers of the upper, and the lining where there is one.
    thickness_mm = 2.0 * _thickness_mm(terms.upper) + _lining_mm(pieces, terms)
    if thread.method == "chainstitch":
        return chainstitch_thread_ratio(thickness_mm, thread.stitch_length_mm)
    return lockstitch_thread_ratio(thickness_mm, thread.stitch_length_mm)


def _lining_mm(pieces: Iterable[Piece], terms: BillTerms) -> float:
    lined = terms.lining is not None and any(piece.material == "lining" for piece in pieces)
    return _thickness_mm(terms.lining) if terms.lining is not None and lined else 0.0


def _thickness_mm(leather: LeatherTerms) -> float:
    if leather.thickness_mm is None:
        raise BillError(
            f"{leather.name} is sewn through, so its thickness is needed; measure it",
            field="thickness_mm",
            code="thickness_missing",
            name=leather.name,
        )
    return leather.thickness_mm


def _hole_count(pieces: Iterable[Piece], kind: Literal["eyelet", "hook"]) -> int:
    """Return the holes of one kind in the upper; linings are punched through with it."""
    return sum(
        piece.quantity * sum(hole.kind == kind for hole in piece.holes)
        for piece in _of(pieces, "upper")
    )


def _hole_lines(
    key: Literal["eyelets", "hooks"], count: int, part: SmallPartTerms | None
) -> Iterator[BillLine]:
    if count == 0:
        return
    if part is None:
        raise _needed(key)
    quantity = Decimal(with_spares(count, part.spare_share))
    how = How(
        f"bill_{key}",
        {
            "count": str(count),
            "spare": shown(part.spare_share * PERCENT),
            "quantity": shown(quantity),
        },
    )
    yield BillLine(key, part.name, quantity, "piece", part.cost_each, Decimal(0), how)


_LACE_KEYS: dict[str, BillKey] = {"pair": "lace", "left": "lace_left", "right": "lace_right"}


def _lace_lines(one_set: PieceSet, terms: BillTerms) -> Iterator[BillLine]:
    holes = _row_of_holes(one_set.pieces)
    if terms.lacing is None or len(holes) < 2:
        return
    if terms.lace is None:
        raise _needed("lace")
    thickness_mm = _thickness_mm(terms.upper) + _lining_mm(one_set.pieces, terms)
    yield _lace_line(one_set, terms.lace, terms.lacing, holes, thickness_mm)


def _lace_line(
    one_set: PieceSet,
    lace: LaceTerms,
    lacing: LacingPlan,
    holes: Sequence[Hole],
    thickness_mm: float,
) -> BillLine:
    pitches_mm = row_pitches_mm([(hole.x_mm, hole.y_mm) for hole in holes])
    crossing_mm = lacing_length_mm(lacing.lacing, lacing.opening_mm, pitches_mm)
    through_mm = 2.0 * len(holes) * thickness_mm  # once through the leather at each eyelet
    end_mm = lace.tying_end_mm + lace.tip_mm
    one_mm = crossing_mm + through_mm + 2.0 * end_mm
    laces = SHOES_PER_PAIR if one_set.foot_side == "pair" else 1
    one_m = _decimal(one_mm / MM_PER_M, LENGTH_M_PLACES)
    quantity = laces * one_m
    how = How(
        "bill_lace",
        {
            "rows": str(len(holes)),
            "pitch": shown(_decimal(sum(pitches_mm) / len(pitches_mm), 2)),
            "opening": shown(_decimal(lacing.opening_mm, LENGTH_MM_PLACES)),
            "crossing": shown(_decimal(crossing_mm, LENGTH_MM_PLACES)),
            "through": shown(_decimal(through_mm, LENGTH_MM_PLACES)),
            "end": f"{end_mm:g}",
            "lacing": lacing.lacing,
            "laces": str(laces),
            "quantity": typed(quantity),
        },
    )
    return BillLine(
        key=_LACE_KEYS[one_set.foot_side],
        name=lace.name,
        quantity=quantity,
        unit="m",
        unit_cost=lace.cost_per_m,
        waste_share=Decimal(0),
        how_parts=how,
        to_buy=laces * up_to_whole_steps(one_m, lace.sold_by_m),
    )


def _row_of_holes(pieces: Iterable[Piece]) -> tuple[Hole, ...]:
    """Return the holes of the upper piece that has the most: one side of the lacing."""
    rows = [piece.holes for piece in _of(pieces, "upper")]
    return max(rows, key=len, default=())


def _flat_lines(key: Literal["glue", "box"], flat: FlatTerms | None) -> Iterator[BillLine]:
    if flat is None:
        return
    how = How("bill_flat", {"quantity": typed(flat.quantity), "unit": flat.unit})
    yield BillLine(key, flat.name, flat.quantity, flat.unit, flat.unit_cost, Decimal(0), how)
