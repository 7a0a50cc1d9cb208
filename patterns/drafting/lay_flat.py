"""Parts of a last's surface laid flat, turned the way one looks at them, and their stretch."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from patterns.drafting.memory import Memory, key_of
from patterns.drafting.regions import EdgeRun, Part
from patterns.geometry.flatten import STIFFNESS, STRETCH_WEIGHT, flatten
from patterns.geometry.relax import Band
from patterns.geometry.runs import Run, contour_runs, run_of_points
from patterns.geometry.strain import principal_stretch, weighted_percentile
from patterns.last.last import FloatArray, IntArray
from patterns.pieces.piece import PieceChecks

UP = 2  # the axis z
LEVELS = tuple(k / 14 for k in range(4, 11))  # of a part's height
BAND = (-0.02, 0.0, 0.02)  # of a part's height: one level is looked at on these lines
LEVEL_OFF_MM, LEVEL_LONG_MM = 1.05, 30.0  # a level line may be off by this, a longer one by 3 %
MORE_ROUNDS = 3
SEAM_OFF_MM = 0.02
MUCH_STRETCH_PCT = 9.0  # a part whose p99 is beyond this is laid anew, so that it gathers more
USUAL = {"stretch_weight": STRETCH_WEIGHT, "stiffness": STIFFNESS}
# Seams are made stiffer still, lest they give way step by step instead.
GATHERED = {"stretch_weight": 2.0 * STRETCH_WEIGHT, "stiffness": 4.0 * STIFFNESS}
FEATHER_BAND_MM = 2.5  # along the lasting edge pleats take what the leather cannot


@dataclass(frozen=True, slots=True)
class FlatPart:
    """A part with its points on the flat, seen on the side that looks outward."""

    part: Part
    flat_mm: FloatArray
    checks: PieceChecks
    girths: Mapping[str, tuple[float, float]]  # by station: length in space, length on the flat

    @property
    def name(self) -> str:
        """Return the name of the part's piece."""
        return self.part.region.name

    def run_mm(self, run: EdgeRun) -> FloatArray:
        """Return a run of the border on the flat, shape (n, 2)."""
        return np.asarray(self.flat_mm[list(run.point_ids)])


def lay_flat(
    part: Part, girths: Mapping[str, FloatArray], lasting_ids: Collection[int]
) -> FlatPart:
    """Return a part laid flat with as little stretch as can be.

    Seams and the lines where girths run keep their lengths.

    Parameters
    ----------
    part : Part
        What to lay flat.
    girths : mapping of str to array of shape (points of the part,)
        For each station a function that is zero along its girth; infinite where it does not go.
    lasting_ids : collection of int
        Points on the lasting edge, beside which pleats take what the leather cannot.
    """
    surface = part.surface
    girths = {name: values for name, values in girths.items() if _crosses(values)}
    seams = [run.point_ids for run in part.runs if run.neighbour]
    key = key_of(
        [surface.points_mm, surface.triangles, seams, sorted(lasting_ids)]
        + [item for pair in sorted(girths.items()) for item in pair]
    )
    return replace(LAID.get(key, lambda: _laid(part, seams, girths, lasting_ids)), part=part)


LAID: Memory[FlatPart] = Memory(64)  # about five boots


def _laid(
    part: Part,
    seams: Sequence[Sequence[int]],
    girths: Mapping[str, FloatArray],
    lasting_ids: Collection[int],
) -> FlatPart:
    points, triangles = part.surface.points_mm, part.surface.triangles
    lines = {name: _girth_runs(points, triangles, values) for name, values in girths.items()}
    held = [run for runs in lines.values() for run in runs]
    stiff = [run_of_points(seam) for seam in seams]
    flat = _settled(part, stiff, held, USUAL)
    major, _, area = principal_stretch(points, triangles, flat)
    if _over_one(major, area, 99.0) > MUCH_STRETCH_PCT:
        flat = _settled(part, stiff, held, GATHERED, flat)
    flat = _upright(points, triangles, flat)
    measured = {
        name: (_length(points, runs), _length(flat, runs)) for name, runs in lines.items() if runs
    }
    return FlatPart(part, flat, _checks(part, flat, lasting_ids), measured)


def _settled(
    part: Part,
    stiff: Sequence[Run],
    held: Sequence[Run],
    weights: Mapping[str, float],
    start_mm: FloatArray | None = None,
) -> FloatArray:
    """Return a part laid flat, level lines that come out too far off held as well."""
    points, triangles = part.surface.points_mm, part.surface.triangles
    bands: dict[float, Band] = {}

    def laid(start_mm: FloatArray | None) -> FloatArray:
        return flatten(
            points,
            triangles,
            stiff_runs=stiff,
            girth_runs=held,
            bands=list(bands.values()),
            **weights,
            start_mm=start_mm,
        )

    flat = laid(start_mm)
    for _ in range(MORE_ROUNDS):
        off = _bands_off(points, triangles, flat)
        if off.keys() <= bands.keys():
            break
        bands |= off
        held_too = laid(flat)
        if _most_off(points, held_too, stiff) > max(SEAM_OFF_MM, _most_off(points, flat, stiff)):
            break  # the seams come first
        flat = held_too
    return flat


def _crosses(values: FloatArray) -> bool:
    """Say whether a girth can run over a part: one beyond it must not have it laid anew."""
    known = values[np.isfinite(values)]
    return known.size > 0 and bool(known.min() < 0.0 <= known.max())


def _girth_runs(points: FloatArray, triangles: IntArray, values: FloatArray) -> list[Run]:
    inside = np.isfinite(values[triangles]).all(axis=1)
    if not inside.any():
        return []
    return contour_runs(points, triangles[inside], values, 0.0)


def _bands_off(points: FloatArray, triangles: IntArray, flat: FloatArray) -> dict[float, Band]:
    """Return level lines that are too far off, by their place, with the length they may have.

    So the wall of a toe does not lean out or in, nor the sides grow wide between instep and
    ankle. Lines that are near enough stay free: holding them would only put corners into the
    border where they end.
    """
    heights = points[:, 2]
    low, high = float(heights.min()), float(heights.max())
    bands: dict[float, Band] = {}
    for share in LEVELS:
        levels = low + (share + np.array(BAND)) * (high - low)
        runs = [run for z in levels for run in contour_runs(points, triangles, heights, float(z))]
        on_last, on_flat = _length(points, runs), _length(flat, runs)
        most = len(BAND) * LEVEL_OFF_MM * max(1.0, on_last / len(BAND) / LEVEL_LONG_MM)
        if abs(on_flat - on_last) > most:
            bands[share] = (runs, on_last + float(np.sign(on_flat - on_last)) * most)
    return bands


def _most_off(points: FloatArray, flat: FloatArray, runs: Sequence[Run]) -> float:
    """Return by how much the length of any run differs between last and flat."""
    return max((abs(run.length_mm(flat) - run.length_mm(points)) for run in runs), default=0.0)


def _length(points: FloatArray, runs: Sequence[Run]) -> float:
    return sum(run.length_mm(points) for run in runs)


def _upright(points: FloatArray, triangles: IntArray, flat: FloatArray) -> FloatArray:
    """Return the flat part turned as one sees it from outside, its middle at the origin.

    A side is seen from its own side, a toe box from above, a back stay from behind.
    """
    normal = _normal(points, triangles)
    facing = int(np.abs(normal).argmax())
    sign = float(np.sign(normal[facing]))
    if facing == UP:
        seen = np.column_stack([points[:, 0], sign * points[:, 1]])
    elif facing == 1:
        seen = np.column_stack([-sign * points[:, 0], points[:, 2]])
    else:
        seen = np.column_stack([sign * points[:, 1], points[:, 2]])
    weight = _point_areas(points, triangles)[:, None]
    middle = (weight * flat).sum(axis=0) / weight.sum()
    seen = seen - (weight * seen).sum(axis=0) / weight.sum()
    moved = flat - middle
    along = (weight * (moved * seen)).sum()
    across = (weight[:, 0] * (moved[:, 0] * seen[:, 1] - moved[:, 1] * seen[:, 0])).sum()
    turn = np.arctan2(across, along)
    cos, sin = np.cos(turn), np.sin(turn)
    return np.column_stack(
        [cos * moved[:, 0] - sin * moved[:, 1], sin * moved[:, 0] + cos * moved[:, 1]]
    )


def _normal(points: FloatArray, triangles: IntArray) -> FloatArray:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return np.asarray(np.cross(b - a, c - a).sum(axis=0))


def _point_areas(points: FloatArray, triangles: IntArray) -> FloatArray:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    total = np.zeros(len(points))
    for k in range(3):
        np.add.at(total, triangles[:, k], area)
    return total


def _checks(part: Part, flat: FloatArray, lasting_ids: Collection[int]) -> PieceChecks:
    points, triangles = part.surface.points_mm, part.surface.triangles
    major, minor, area = principal_stretch(points, triangles, flat)
    far = np.ones(len(triangles), dtype=bool)
    if lasting_ids:
        distance = cKDTree(points[sorted(lasting_ids)]).query(points[triangles].mean(axis=1))[0]
        far = distance > FEATHER_BAND_MM
    if not far.any():
        far[:] = True
    corners = flat[triangles]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    doubled = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]

    return PieceChecks(
        stretch_p95_pct=_over_one(major, area, 95.0),
        stretch_p99_pct=_over_one(major, area, 99.0),
        gather_p99_pct=-_over_one(minor, area, 1.0),
        area_ratio=float(doubled.sum() / 2.0 / area.sum()),
        flips=int((doubled <= 0).sum()),
        stretch_p95_off_band_pct=_over_one(major[far], area[far], 95.0),
        stretch_p99_off_band_pct=_over_one(major[far], area[far], 99.0),
    )


def _over_one(values: FloatArray, weights: FloatArray, share: float) -> float:
    """Return by how many per cent a weighted percentile of factors is over 1."""
    return 100.0 * (weighted_percentile(values, weights, share) - 1.0)
