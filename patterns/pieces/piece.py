"""The values that describe pattern pieces; see DEVELOPERS.md for the file they make."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

Point = tuple[float, float]
Ring = tuple[Point, ...]  # closed; the first point is not repeated

EdgeKind = Literal["lasting", "seam", "lap", "hem", "raw"]
LineKind = Literal["fold", "stitch", "mark", "tight way"]
Material = Literal["upper", "lining", "card", "sole"]
Face = Literal["grain", "flesh"]
Level = Literal["info", "warning", "stop"]


@dataclass(frozen=True, slots=True)
class EdgeName:
    """One edge of one piece."""

    piece: str
    edge: str


@dataclass(frozen=True, slots=True)
class Edge:
    """A run of the net outline with one kind, one allowance and at most one partner."""

    name: str
    kind: EdgeKind
    allowance_mm: float
    points_mm: tuple[Point, ...]
    partner: EdgeName | None = None


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole to punch: an eyelet or a lacing hook."""

    kind: Literal["eyelet", "hook"]
    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Notch:
    """A small cut into an allowance so that a curved turned edge lies flat.

    ``t`` is the place along the edge from 0 to 1; ``angle_deg`` the direction of the cut,
    outward from the net line; ``depth_mm`` how far it comes in from the cut line.
    """

    edge: str
    t: float
    angle_deg: float
    depth_mm: float


@dataclass(frozen=True, slots=True)
class Line:
    """A line drawn on a piece: fold, stitch, mark or tight-way arrow."""

    kind: LineKind
    points_mm: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class PieceMesh:
    """The part of the last's surface that a piece covers, in space and laid flat.

    ``points_mm`` has shape (n, 3), ``flat_mm`` (n, 2), ``triangles`` (m, 3); ``edge_points``
    holds, for each edge, the ids of its points in order.
    """

    points_mm: npt.NDArray[np.float64]
    flat_mm: npt.NDArray[np.float64]
    triangles: npt.NDArray[np.int64]
    edge_points: tuple[tuple[str, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True)
class PieceChecks:
    """How the leather of a piece must give to lie on the last, in percent, by area.

    ``stretch`` is how much longer the leather gets where and in the direction it gives most,
    ``gather`` how much shorter where it is pushed together most; the figures with ``off_band``
    leave out the strip along the lasting edge, where pleats take the excess.
    """

    stretch_p95_pct: float
    stretch_p99_pct: float
    gather_p99_pct: float
    area_ratio: float
    flips: int
    stretch_p95_off_band_pct: float
    stretch_p99_off_band_pct: float


@dataclass(frozen=True, slots=True)
class Piece:
    """One pattern piece as drawn; ``mirrored_quantity`` of the copies are its mirror image.

    ``net_mm`` is the finished line, ``cut_mm`` the line to cut, both rings with y up. Pieces cut
    from the last's surface have ``checks`` and a ``mesh``; pieces drawn flat have neither. Solid
    parts have a mean ``thickness_mm``. ``grade`` is the worst leather it may be cut
    from, 1 the best; None takes any.
    """

    name: str
    quantity: int
    mirrored_quantity: int
    material: Material
    net_mm: Ring
    cut_mm: Ring
    edges: tuple[Edge, ...] = ()
    holes: tuple[Hole, ...] = ()
    notches: tuple[Notch, ...] = ()
    lines: tuple[Line, ...] = ()
    mirror_free: bool = False
    tight_way_deg: float = 0.0
    rotation_tolerance_deg: float = 10.0
    face_up: Face = "grain"
    thickness_mm: float | None = None
    grade: int | None = None
    checks: PieceChecks | None = None
    mesh: PieceMesh | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Message:
    """Something the maker should know; ``stop`` means: do not cut."""

    level: Level
    code: str
    text: str
    piece: str = ""
    parameters: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BuiltMeasure:
    """A measure as asked for and as found on what was built."""

    name: str
    asked_mm: float
    built_mm: float
    inferred: bool

    @property
    def residual_percent(self) -> float:
        """Return how far the built measure is off, as a percentage of the asked one."""
        if self.asked_mm == 0.0:
            return 0.0 if self.built_mm == 0.0 else 100.0
        return 100.0 * (self.built_mm / self.asked_mm - 1.0)


@dataclass(frozen=True, slots=True)
class GirthClosure:
    """How the flat pieces close round one girth of the foot."""

    station: str
    last_mm: float
    pattern_mm: float


@dataclass(frozen=True, slots=True)
class Lasting:
    """The lasting margin of one piece and what it must take up."""

    piece: str
    margin_mm: float
    cover_min_mm: float
    gather_mm: float
    notches: int


@dataclass(frozen=True, slots=True)
class Seam:
    """Two edges sewn together and how well they match."""

    a: EdgeName
    b: EdgeName
    length_a_mm: float
    length_b_mm: float
    drift_mm: float

    @property
    def mismatch_mm(self) -> float:
        """Return the difference of the two lengths, zero or more."""
        return abs(self.length_a_mm - self.length_b_mm)


@dataclass(frozen=True, slots=True)
class EntryLevel:
    """Whether the foot comes through at one height: what must pass, and what the boot opens to."""

    height_mm: float
    needs_mm: float
    opens_mm: float


@dataclass(frozen=True, slots=True)
class PieceSet:
    """All pieces of a pair (or of one shoe where the feet differ), with how they came about."""

    style: str
    foot: str
    foot_side: Literal["pair", "left", "right"]
    engine: str
    parameters: Mapping[str, float | str | bool]
    source_kind: Literal["measures", "tracing", "mesh"]
    measures: tuple[BuiltMeasure, ...]
    girth_closure: tuple[GirthClosure, ...]
    lasting: tuple[Lasting, ...]
    seams: tuple[Seam, ...]
    messages: tuple[Message, ...]
    pieces: tuple[Piece, ...]
    entry: tuple[EntryLevel, ...] = ()
    corrections: Mapping[str, float] = field(default_factory=dict)

    def piece(self, name: str) -> Piece:
        """Return the piece of that name, or raise KeyError."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise KeyError(name)
