"""Planning by hand: the copies of a job's pieces on a hide, as the page and its script take them.

People see where the middle of a piece lies, and by how much it is turned from lying with its tight
way along the hide's. Files hold the place of a piece's own origin and its whole turn; both are
worked out from each other here and nowhere else.
"""

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from shapely.geometry import Polygon

from patterns.drawing.drawing import Turn, box_round
from patterns.hide import Hide
from patterns.layout.check import LayoutFault
from patterns.layout.ground import laid_shape
from patterns.layout.values import LayoutPiece, LayoutRequest, Placement
from patterns.pieces.piece import Point, Ring

COPIES_BY_HAND_MOST = 300  # a form takes so many rows; more are laid out by searching
SHOWN_DECIMALS = 2  # a hundredth of a millimetre or a degree, finer than a hand sets
POINTS_DECIMALS = 3
ROUGH_MM = 0.1  # what outlines may be off while a piece is being dragged


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of a piece: its name among the others, and where it lies, None for nowhere.

    ``is_fixed`` copies stay where they lie when the others are placed anew; ``is_locked`` ones are
    cut already and cannot be moved at all.
    """

    number: int
    piece: LayoutPiece
    mirrored: bool
    name: str
    placement: Placement | None = None
    is_fixed: bool = False
    is_locked: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a copy lies in a person's terms; see the module."""

    x_mm: float
    y_mm: float
    turn_deg: float
    mirrored: bool


@dataclass(frozen=True, slots=True)
class PlanGround:
    """A hide, what was asked of it, and the copies on it or beside it."""

    request: LayoutRequest
    copies: tuple[Copy, ...]

    @property
    def hide(self) -> Hide:
        """Return the hide that is planned on."""
        return self.request.hides[0]

    @property
    def placed(self) -> int:
        """Return how many copies lie on it."""
        return sum(copy.placement is not None for copy in self.copies)

    def with_placements(self, placements: Sequence[Placement | None]) -> "PlanGround":
        """Return the ground with its copies lying elsewhere."""
        copies = zip(self.copies, placements, strict=True)
        return replace(self, copies=tuple(replace(c, placement=row) for c, row in copies))


def copy_name(piece: str, foot_side: str, number: int, of: int) -> str:
    """Return what one copy of a piece is called, such as “toe box, left foot 2”."""
    words = {
        "left": _("%(piece)s, left foot") % {"piece": piece},
        "right": _("%(piece)s, right foot") % {"piece": piece},
    }.get(foot_side, piece)
    return f"{words} {number}" if of > 1 else words


def foot_of(piece: LayoutPiece, mirrored: bool, drawn_foot: str) -> str:
    """Return which foot a copy is for; empty where either takes it, or all are of one foot."""
    if piece.mirror_free or not piece.mirrored_quantity:
        return ""
    return drawn_foot if not mirrored else {"left": "right", "right": "left"}[drawn_foot]


def plan_ground(
    request: LayoutRequest,
    placements: Sequence[Placement],
    *,
    fixed: Sequence[Placement] = (),
    drawn_foot: str,
) -> PlanGround:
    """Return every copy a request asks for, those of the placements where they lie."""
    copies: list[Copy] = []
    for piece in request.pieces:
        here = [row for row in placements if row.id == piece.id]
        for mirrored, count in _hands(piece):
            rows: list[Placement | None] = [
                row for row in here if piece.mirror_free or row.mirrored == mirrored
            ][:count]
            rows += [None] * (count - len(rows))
            foot = foot_of(piece, mirrored, drawn_foot)
            copies += [
                Copy(
                    number=len(copies) + k,
                    piece=piece,
                    mirrored=row.mirrored if row is not None else mirrored,
                    name=copy_name(piece.id, foot, k + 1, count),
                    placement=row,
                    is_fixed=row is not None and row in fixed,
                )
                for k, row in enumerate(rows)
            ]
    return PlanGround(request, tuple(copies))


def _hands(piece: LayoutPiece) -> list[tuple[bool, int]]:
    if piece.mirror_free:
        return [(False, piece.quantity)]
    hands = [(False, piece.quantity - piece.mirrored_quantity), (True, piece.mirrored_quantity)]
    return [(mirrored, count) for mirrored, count in hands if count]


def spot_of(piece: LayoutPiece, placement: Placement) -> Spot:
    """Return where a placement lies in a person's terms."""
    turn = Turn(placement.x_mm, placement.y_mm, placement.rotation_deg, mirrored=placement.mirrored)
    x, y = turn(_middle(piece))
    turned = (placement.rotation_deg - base_turn_deg(piece, placement.mirrored)) % 360.0
    return Spot(x, y, turned, placement.mirrored)


def placement_at(piece: LayoutPiece, spot: Spot, hide: str) -> Placement:
    """Return the placement of a copy that lies at a spot."""
    rotation = (spot.turn_deg + base_turn_deg(piece, spot.mirrored)) % 360.0
    x, y = Turn(0.0, 0.0, rotation, mirrored=spot.mirrored)(_middle(piece))
    return Placement(piece.id, hide, spot.x_mm - x, spot.y_mm - y, rotation, spot.mirrored)


def base_turn_deg(piece: LayoutPiece, mirrored: bool) -> float:
    """Return the whole turn at which a copy lies with its tight way along the hide's."""
    rotations = piece.rotations_deg(mirrored)
    return rotations[0] if rotations else 0.0


def _middle(piece: LayoutPiece) -> Point:
    box = box_round(piece.outline_mm)
    return (box.left_mm + box.right_mm) / 2.0, (box.bottom_mm + box.top_mm) / 2.0


def shown_number(value: float) -> str:
    """Return a figure as a field shows it.

    >>> shown_number(12.0), shown_number(-0.001)
    ('12', '0')
    """
    text = f"{round(value, SHOWN_DECIMALS) + 0.0:.{SHOWN_DECIMALS}f}"
    return text.rstrip("0").rstrip(".")


def ground_document(ground: PlanGround) -> str:
    """Return what the script draws and warns by, as JSON; the verdict stays with the exact check.

    Outlines of pieces lie about their own middle, not mirrored, at no turn of their own.
    """
    hide, request = ground.hide, ground.request
    kinds: dict[str, int] = {}
    pieces = []
    for piece in request.pieces:
        kinds[piece.id] = len(kinds)
        x, y = _middle(piece)
        pieces.append(
            {
                "ring": _points((px - x, py - y) for px, py in piece.outline_mm),
                "rough": _points((px - x, py - y) for px, py in _rough(piece.outline_mm)),
                "turns": _turns(piece, False),
                "mirroredTurns": _turns(piece, True),
                "base": [base_turn_deg(piece, False), base_turn_deg(piece, True)],
                "tolerance": piece.rotation_tolerance_deg,
                "mirrorFree": piece.mirror_free,
                "grade": piece.grade,
            }
        )
    document: dict[str, Any] = {
        "hide": _points(hide.outline_mm),
        "roughHide": _points(_rough(hide.outline_mm)),
        "defects": [
            {
                "kind": kind or _("defect"),
                "ring": _points(ring),
                "rough": _points(_rough(ring)),
            }
            for kind, ring in hide.named_defects
        ],
        "areas": [
            {
                "grade": area.grade,
                "name": area.name or _("grade %(n)d") % {"n": area.grade},
                "ring": _points(area.outline_mm),
            }
            for area in hide.areas
        ],
        "gap": request.spacing_mm,
        "edgeGap": request.edge_spacing_mm,
        "pieces": pieces,
        "copies": [
            {
                "number": copy.number,
                "piece": kinds[copy.piece.id],
                "name": copy.name,
                "mirrored": copy.mirrored,
                "locked": _spot_document(copy) if copy.is_locked else None,
            }
            for copy in ground.copies
        ],
    }
    return json.dumps(document, separators=(",", ":"))


def _spot_document(copy: Copy) -> dict[str, Any]:
    assert copy.placement is not None
    spot = spot_of(copy.piece, copy.placement)
    return {"x": spot.x_mm, "y": spot.y_mm, "turn": spot.turn_deg, "mirrored": spot.mirrored}


def _turns(piece: LayoutPiece, mirrored: bool) -> list[float] | None:
    """Return the turns allowed from the first of them on, None for any."""
    rotations = piece.rotations_deg(mirrored)
    if rotations is None or piece.rotation_tolerance_deg >= 180.0:
        return None
    return [(turn - rotations[0]) % 360.0 for turn in rotations]


def _rough(ring: Ring) -> Ring:
    """Return an outline with fewer corners, quick enough to follow a moving hand."""
    outline = Polygon(ring).simplify(ROUGH_MM).exterior
    return tuple((x, y) for x, y in outline.coords[:-1])


def _points(ring: Iterable[Point]) -> list[list[float]]:
    return [[round(x, POINTS_DECIMALS), round(y, POINTS_DECIMALS)] for x, y in ring]


def fault_words(ground: PlanGround, laid: Sequence[Copy], fault: LayoutFault) -> str:
    """Return a fault of a plan in words that name the copies and say what to do.

    Parameters
    ----------
    ground : PlanGround
    laid : sequence of Copy
        The copies in the order of the placements that were checked.
    fault : LayoutFault
    """
    names = [laid[row].name for row in fault.rows]
    figures = fault.parameters
    if fault.code == "overlap":
        return _("%(one)s and %(two)s overlap. Move one of them away.") % {
            "one": names[0], "two": names[1],
        }  # fmt: skip
    if fault.code == "near_piece":
        return _("%(one)s and %(two)s are %(near)s mm apart; the gap is %(gap)s mm.") % {
            "one": names[0],
            "two": names[1],
            "near": shown_number(_down(figures["near_mm"])),
            "gap": shown_number(float(figures["gap_mm"])),
        }
    if fault.code == "outside":
        return _outside_words(ground, laid[fault.rows[0]])
    if fault.code == "near_edge":
        return _("%(one)s lies %(near)s mm from an edge or defect, not %(gap)s mm.") % {
            "one": names[0],
            "near": shown_number(_down(figures["near_mm"])),
            "gap": shown_number(float(figures["gap_mm"])),
        }
    if fault.code == "turned":
        return _(
            "%(one)s is turned %(off)s° off its tight way; it may be %(tolerance)s°."
        ) % {
            "one": names[0],
            "off": shown_number(float(figures["off_deg"])),
            "tolerance": shown_number(float(figures["tolerance_deg"])),
        }  # fmt: skip
    if fault.code == "wrong_grade":
        return _("%(one)s lies on leather of grade %(grade)d; it asks for better.") % {
            "one": names[0], "grade": figures["grade"],
        }  # fmt: skip
    return fault.text


def _outside_words(ground: PlanGround, copy: Copy) -> str:
    """Return whether a copy lies on a defect or over the edge, or both."""
    assert copy.placement is not None
    shape = laid_shape(copy.piece, copy.placement)
    hit = [
        kind or _("defect")
        for kind, ring in ground.hide.named_defects
        if shape.intersection(Polygon(ring)).area > 0.0
    ]
    beside = shape.difference(Polygon(ground.hide.outline_mm)).area
    places = [_("on a defect (%(kind)s)") % {"kind": kind} for kind in dict.fromkeys(hit)]
    if beside > 0.0 or not places:
        places.append(_("over the edge of the hide by %(area).0f mm²") % {"area": beside})
    return _("%(one)s lies %(places)s.") % {"one": copy.name, "places": _(" and ").join(places)}


def _down(value: float | int | str) -> float:
    """Return a distance rounded down, so that too near never reads as just the gap."""
    return math.floor(float(value) * 10**SHOWN_DECIMALS) / 10**SHOWN_DECIMALS


def placed_words(ground: PlanGround) -> str:
    """Return how many of the copies lie on the hide."""
    of = len(ground.copies)
    return ngettext(
        "%(placed)d of %(of)d piece lies on the hide",
        "%(placed)d of %(of)d pieces lie on the hide",
        of,
    ) % {"placed": ground.placed, "of": of}
