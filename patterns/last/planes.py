"""The planes in which a mesh is wrapped: those of the fitted last, laid to the mesh's own sole."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

from patterns.last.last import Last
from patterns.mesh_in import FootMesh, section_points

FloatArray = npt.NDArray[np.float64]

SOLE_SEEN, SOLE_PLACES = (0.10, 0.90), 33  # of foot length: where the mesh's sole is read
SOLE_FAN_SHARE = 0.45  # of the fan: its sections up to here stand on the sole
SEAT_END = 0.08  # of foot length: behind this the heel rounds up from the sole
TIP_SEEN = 0.010  # of foot length: the tip is the middle of what lies so far behind it
TIP_ROUND = 0.03  # of foot length: the tip is an even round from here on
LEVEL_ENOUGH_MM = 0.05
ORIGIN_FADE = 4.0  # sections over which the origins' move along the sole dies away up the heel


@dataclass(frozen=True)
class Planes:
    """The planes of a last, outer side towards +y; each has an origin and an upward direction.

    `floor` is how high above its origin the sole lies on each, minus infinity where the section
    does not stand on the sole.
    """

    grid: FloatArray
    origin: FloatArray  # (stations, 3), y = 0
    upward: FloatArray  # (stations, 3), within the plane, square to y
    height: FloatArray
    floor: FloatArray
    sole: FloatArray  # (n, 2), x and height
    length: float
    heel: float
    instep: int
    tip: FloatArray

    @property
    def normal(self) -> FloatArray:
        """Return the unit normals of the planes."""
        return np.cross(self.upward, [0.0, 1.0, 0.0])


def planes_of(base: Last, grid: FloatArray, mesh: FootMesh, leg_top: float) -> Planes:
    """Return the base's planes, stretched by a hair so that heel and tip are the mesh's.

    Parameters
    ----------
    base : Last
    grid : array of shape (stations, turns, 3)
        Its grid with the outer side towards +y.
    mesh : FootMesh
        With its outer side towards +y.
    leg_top : float
        Height up to which the mesh's leg is whole.
    """
    points = mesh.points_mm
    low = points[points[:, 2] < 0.3 * base.foot_length_mm + base.heel_raise_mm]
    heel, toe, ground = float(low[:, 0].min()), float(low[:, 0].max()), float(points[:, 2].min())
    stretch = (toe - heel) / grid[0, 0, 0]
    sole = _mesh_sole(mesh, base.sole_mm * [stretch, 1.0] + [heel, ground], heel, toe)
    moved = grid * [stretch, 1.0, 1.0] + [heel, 0.0, ground]
    moved = _ended(moved, base.ankle_station, leg_top)
    origin, upward, height = _axes(moved, base.instep_station)
    fan = base.ankle_station - base.instep_station
    on_sole = np.arange(len(moved)) < base.instep_station + SOLE_FAN_SHARE * fan
    on_sole &= origin[:, 0] - heel > SEAT_END * (toe - heel)
    shift = _shift_to_sole(origin, upward, sole, on_sole)
    return Planes(
        grid=moved,
        origin=origin + shift[:, None] * upward,
        upward=upward,
        height=height - shift,
        floor=np.where(on_sole, 0.0, -np.inf),
        sole=sole,
        length=toe - heel,
        heel=heel,
        instep=base.instep_station,
        tip=_tip(mesh, heel, toe),
    )


def _axes(grid: FloatArray, instep_station: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return each section's origin below or behind, its direction up or ahead, and its height."""
    half = grid.shape[1] // 2
    origin, top = grid[:, 0] * [1.0, 0.0, 1.0], grid[:, half] * [1.0, 0.0, 1.0]
    span = top - origin
    height = np.linalg.norm(span, axis=1)
    span[: instep_station + 1] = [0.0, 0.0, 1.0]
    return origin, span / np.linalg.norm(span, axis=1, keepdims=True), height


def _shift_to_sole(
    origin: FloatArray, upward: FloatArray, sole: FloatArray, on_sole: npt.NDArray[np.bool_]
) -> FloatArray:
    """Return how far up its plane each origin lies from the sole; it dies away up the heel.

    Origins have to run on smoothly, for what reaches from them is mixed from plane to plane.
    """
    rise = np.interp(origin[:, 0], sole[:, 0], sole[:, 1]) - origin[:, 2]
    shift = np.where(on_sole, rise / np.maximum(upward[:, 2], 0.2), 0.0)
    last_on = int(np.flatnonzero(on_sole).max())
    beyond = np.maximum(np.arange(len(origin)) - last_on, 0)
    return np.asarray(np.where(beyond > 0, shift[last_on] * np.exp(-beyond / ORIGIN_FADE), shift))


def _tip(mesh: FootMesh, heel: float, toe: float) -> FloatArray:
    """Return the tip: the middle of what lies just behind the foremost point.

    A point on its rim would make an edge there.
    """
    behind = section_points(mesh, (toe - TIP_SEEN * (toe - heel), 0.0, 0.0), (1.0, 0.0, 0.0))
    across = behind[:, 1:]
    return np.array([toe, *(across.min(axis=0) + across.max(axis=0)) / 2])


def _ended(grid: FloatArray, ankle_station: int, leg_top: float) -> FloatArray:
    """Return the sections up to the top of the mesh's leg, the last one just there."""
    height = grid[:, 0, 2]
    above = np.flatnonzero(
        (np.arange(len(grid)) > ankle_station) & (height > leg_top + LEVEL_ENOUGH_MM)
    )
    if not len(above):
        return grid
    first = int(above[0])
    if leg_top - height[first - 1] < LEVEL_ENOUGH_MM:
        return grid[:first]
    ended = grid[: first + 1].copy()
    ended[first, :, 2] = leg_top
    return ended


def _mesh_sole(mesh: FootMesh, sole: FloatArray, heel: float, toe: float) -> FloatArray:
    """Return the sole along the mesh's lowest places, carried on past both ends.

    A foot may stand on heel and ball alone; its sole then bends up a little under the waist.
    """
    places = heel + (toe - heel) * np.linspace(*SOLE_SEEN, SOLE_PLACES)
    lowest = np.array(
        [section_points(mesh, (x, 0.0, 0.0), (1.0, 0.0, 0.0))[:, 2].min() for x in places]
    )
    off = lowest - np.interp(places, sole[:, 0], sole[:, 1])
    off = gaussian_filter1d(off, 1.0, mode="nearest")
    return np.column_stack([sole[:, 0], sole[:, 1] + np.interp(sole[:, 0], places, off)])
