"""In which order to cut: the parts that are lasted first, large before small, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon

from patterns.layout.ground import laid_shape
from patterns.layout.values import LayoutRequest, Placement
from patterns.pieces.piece import Material, Piece, PieceSet

# Leather first, while the whole hide can still be looked at, card last; common practice, no source.
MATERIALS: tuple[Material, ...] = ("upper", "lining", "sole", "card")
BESIDE_MM = 1.0  # beyond the gap, two pieces that far apart still lie side by side


@dataclass(frozen=True, slots=True)
class CutStep:
    """One copy to cut: ``placement`` says where it lies, None for what is on no layout.

    ``number`` counts the copies of a piece and side from 1, of which there are ``of``; copies that
    may be either side are counted together.
    """

    piece: str
    mirrored: bool
    number: int
    of: int
    material: Material
    area_mm2: float
    placement: Placement | None = None


def cutting_order(
    piece_set: PieceSet,
    *,
    pair_count: int,
    request: LayoutRequest | None = None,
    placements: Sequence[Placement] = (),
) -> tuple[CutStep, ...]:
    """Return every copy of every piece in the order to cut them.

    Upper leather comes first, hide by hide, and of it what is pulled over the last: it shows
    most and strains most, and gets the leather while there is most of it. Within each group the
    largest comes first, then what lies beside the piece just cut or is sewn to it, large before
    small, then the largest again. Linings, soles and card follow in the same way. Common
    practice, no source.

    Parameters
    ----------
    piece_set : PieceSet
        The pieces of one pair.
    pair_count : int
        How many pairs.
    request : LayoutRequest, optional
        What the layout was asked with; its gap says what lies side by side.
    placements : sequence of Placement
        Where the copies lie; copies that lie nowhere are in the order all the same.
    """
    known = {piece.name: piece for piece in piece_set.pieces}
    hides = [hide.id for hide in request.hides] if request is not None else []
    steps = _steps(piece_set, pair_count, placements)
    groups: dict[tuple[int, int, int], list[CutStep]] = {}
    for step in steps:
        groups.setdefault(_group(step, known, hides), []).append(step)
    reach_mm = (request.spacing_mm if request is not None else 0.0) + BESIDE_MM
    shapes = _shapes(steps, request)
    return tuple(
        step for key in sorted(groups) for step in _chained(groups[key], known, shapes, reach_mm)
    )


def is_lasted(piece: Piece) -> bool:
    """Return whether a piece has an edge that is pulled over the last."""
    return any(edge.kind == "lasting" for edge in piece.edges)


def _steps(piece_set: PieceSet, pair_count: int, placements: Sequence[Placement]) -> list[CutStep]:
    """Return a step for each copy; copies of a piece that may be either lie as they lie."""
    steps = []
    for piece in piece_set.pieces:
        area = float(Polygon(piece.cut_mm).area)
        here = [row for row in placements if row.id == piece.name]
        total = piece.quantity * pair_count
        if piece.mirror_free:
            hands = [(here, False, total)]
        else:
            over = piece.mirrored_quantity * pair_count
            hands = [
                ([row for row in here if row.mirrored == mirrored], mirrored, count)
                for mirrored, count in ((False, total - over), (True, over))
            ]
        for laid, mirrored, count in hands:
            rows: list[Placement | None] = [*laid, *[None] * (count - len(laid))]
            steps += [
                CutStep(
                    piece=piece.name,
                    mirrored=row.mirrored if row is not None else mirrored,
                    number=number,
                    of=count,
                    material=piece.material,
                    area_mm2=area,
                    placement=row,
                )
                for number, row in enumerate(rows[:count], start=1)
            ]
    return steps


def _group(step: CutStep, known: dict[str, Piece], hides: Sequence[str]) -> tuple[int, int, int]:
    on_hide = hides.index(step.placement.container) if step.placement is not None else len(hides)
    lasted = 0 if is_lasted(known[step.piece]) else 1
    return MATERIALS.index(step.material), on_hide, lasted


def _shapes(steps: Sequence[CutStep], request: LayoutRequest | None) -> dict[Placement, Polygon]:
    laid = {piece.id: piece for piece in request.pieces} if request is not None else {}
    return {
        step.placement: laid_shape(laid[step.piece], step.placement)
        for step in steps
        if step.placement is not None
    }


def _chained(
    steps: Sequence[CutStep],
    known: dict[str, Piece],
    shapes: dict[Placement, Polygon],
    reach_mm: float,
) -> list[CutStep]:
    """Return steps from the largest on, each followed by its largest neighbour not yet cut."""
    left = sorted(steps, key=lambda step: (-round(step.area_mm2, 3), step.piece, step.mirrored))
    order: list[CutStep] = []
    while left:
        following = None
        if order:
            following = next(
                (s for s in left if _are_neighbours(order[-1], s, known, shapes, reach_mm)), None
            )
        step = following or left[0]
        left.remove(step)
        order.append(step)
    return order


def _are_neighbours(
    one: CutStep,
    two: CutStep,
    known: dict[str, Piece],
    shapes: dict[Placement, Polygon],
    reach_mm: float,
) -> bool:
    if one.placement is not None and two.placement is not None:
        near = shapes[one.placement].distance(shapes[two.placement]) <= reach_mm
        if near and one.placement.container == two.placement.container:
            return True
    if one.piece == two.piece:
        return True
    return any(
        edge.partner is not None and edge.partner.piece == two.piece
        for edge in known[one.piece].edges
    )
