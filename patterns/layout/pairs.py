"""How many whole pairs a hide holds, before anyone has decided how many to make."""

from collections.abc import Callable
from dataclasses import replace

from patterns.errors import LayoutError
from patterns.layout.ground import piece_areas_mm2, usable_area_mm2
from patterns.layout.search import lay_out
from patterns.layout.sets import copies_laid, sets_of_copies
from patterns.layout.values import COPIES_MAX, Layout, LayoutRequest


def pairs_that_fit(
    request: LayoutRequest,
    *,
    seed: int,
    steps: int | None = None,
    seconds: float | None = None,
    clock: Callable[[], float] | None = None,
    is_cancelled: Callable[[], bool] | None = None,
) -> tuple[int, Layout]:
    """Return how many whole pairs the hides hold, and the layout that shows it.

    The quantities of the request do not count, only what one pair needs (``per_set``). As many
    pairs are asked for as the leather's area could hold, up to 400 pieces, so the count is one
    the maker can cut, never an estimate; a longer search may find another pair.

    Raises
    ------
    LayoutError
        No piece belongs to a pair, the pieces belong to pairs of different names, or any fault
        of `lay_out`.
    """
    pieces = [piece for piece in request.pieces if piece.per_set]
    if len({piece.set_name for piece in pieces}) != 1:
        raise LayoutError(
            "Pairs can be counted when all pieces belong to one kind of pair. "
            "Say how many of each a pair needs.",
            field="pieces",
            code="no_single_set",
        )
    areas = piece_areas_mm2(request)
    pair_mm2 = sum(areas[piece.id] * piece.per_set for piece in pieces)
    copies = sum(piece.per_set for piece in pieces)
    by_area = int(usable_area_mm2(request) / pair_mm2)
    pair_count = max(1, min(by_area, COPIES_MAX // copies))
    asked = tuple(
        replace(
            piece,
            quantity=piece.per_set * pair_count,
            mirrored_quantity=piece.per_set_mirrored * pair_count,
        )
        for piece in pieces
    )
    layout = lay_out(
        replace(request, pieces=asked, fixed=()),
        seed=seed,
        steps=steps,
        seconds=seconds,
        clock=clock,
        is_cancelled=is_cancelled,
    )
    return layout.complete_sets, layout


def only_asked(request: LayoutRequest, layout: Layout) -> Layout:
    """Return the layout without the copies beyond what the request asks for.

    A layout of as many pairs as fit holds fewer pairs too; taking pieces away never makes a
    layout faulty.
    """
    pieces = {piece.id: piece for piece in request.pieces}
    left = {
        (piece.id, mirrored): piece.quantity
        if piece.mirror_free
        else piece.mirrored_quantity
        if mirrored
        else piece.quantity - piece.mirrored_quantity
        for piece in request.pieces
        for mirrored in (False, True)
    }
    kept = []
    for row in layout.placements:
        # A piece that may be mirrored freely is counted as one kind, however it lies.
        key = (row.id, row.mirrored and not pieces[row.id].mirror_free)
        if left.get(key, 0) > 0:
            left[key] -= 1
            kept.append(row)
    areas = piece_areas_mm2(request)
    sets = sets_of_copies(request.pieces, copies_laid(kept))
    return replace(
        layout,
        placements=tuple(kept),
        placed=len(kept),
        requested=sum(piece.quantity for piece in request.pieces),
        complete_sets=sum(sets.values()),
        used_area_mm2=sum(areas[row.id] for row in kept),
    )
