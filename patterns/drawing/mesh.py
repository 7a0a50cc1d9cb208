"""Draw a foot mesh as it was read: its shadows from side and above, on squares of 10 mm."""

import numpy as np
import numpy.typing as npt
import shapely

from patterns.drawing.drawing import Drawing
from patterns.drawing.foot_preview import draw_foot_preview
from patterns.mesh_in import FootMesh
from patterns.pieces.piece import Point

ROWS = 320  # so many cuts across a shadow; a foot of 75 mm is then known to a third of a mm
FLAT_MM = 1e-6  # what is thinner casts no shadow
FOOT_HEIGHT = 0.3  # of foot length: what stands below is the foot, above it the leg

FloatArray = npt.NDArray[np.float64]


def draw_mesh(mesh: FootMesh, foot_length_mm: float) -> Drawing:
    """Return a mesh's shadows from the side and from above, heel under heel.

    Parameters
    ----------
    mesh : FootMesh
        In mm, in the foot's frame.
    foot_length_mm : float
        From above only the foot is drawn, not the leg that stands over it.
    """
    corners = mesh.corners_mm
    low = corners[:, :, 2].min(axis=1) < FOOT_HEIGHT * foot_length_mm
    foot = corners[low].copy()
    foot[:, :, 2] = np.minimum(foot[:, :, 2], FOOT_HEIGHT * foot_length_mm)
    return draw_foot_preview(shadow_of(foot[:, :, :2]), shadow_of(corners[:, :, [0, 2]]))


def shadow_of(triangles_mm: FloatArray) -> tuple[Point, ...]:
    """Return the outline of triangles laid over one another, shape (n, 3, 2); its largest part.

    What lies all in one line has none.

    The shadow is cut across in rows, each row's runs are joined and neighbouring rows spanned:
    200,000 triangles take a fraction of the time that joining them one by one would.
    """
    across, up = np.ptp(triangles_mm.reshape(-1, 2), axis=0)
    if min(up, across) < FLAT_MM:
        return ()
    if up > across:  # rows lie closer along the shorter way
        return tuple((x, y) for y, x in shadow_of(triangles_mm[:, :, ::-1]))
    low, high = triangles_mm[:, :, 1].min(axis=1), triangles_mm[:, :, 1].max(axis=1)
    bottom, top = float(low.min()), float(high.max())
    step = (top - bottom) / ROWS
    heights = bottom + step * (np.arange(ROWS) + 0.5)
    rows = [_runs(triangles_mm[(low < y) & (high > y)], y, step) for y in heights]
    spans = [
        shape
        for k in range(ROWS - 1)
        for shape in _spans(rows[k], rows[k + 1], heights[k], heights[k + 1])
    ]
    spans += [shapely.box(a, bottom, b, heights[0]) for a, b in rows[0]]
    spans += [shapely.box(a, heights[-1], b, top) for a, b in rows[-1]]
    parts = shapely.get_parts(shapely.union_all(spans))
    whole = max(parts, key=lambda part: float(part.area))
    if whole.geom_type != "Polygon":
        return ()
    ring = shapely.Polygon(whole.exterior).simplify(step / 4)
    return tuple((float(x), float(y)) for x, y in ring.exterior.coords[:-1])


def _runs(triangles: FloatArray, y: float, bridge_mm: float) -> list[tuple[float, float]]:
    """Return where a level line runs inside the triangles, from left to right."""
    if not len(triangles):
        return []
    crossings = []
    for k in range(3):
        start, end = triangles[:, k], triangles[:, (k + 1) % 3]
        rise = end[:, 1] - start[:, 1]
        crosses = (start[:, 1] < y) != (end[:, 1] < y)
        share = np.where(crosses, (y - start[:, 1]) / np.where(crosses, rise, 1.0), np.nan)
        crossings.append(start[:, 0] + share * (end[:, 0] - start[:, 0]))
    met = ~np.isnan(crossings).all(axis=0)
    at = np.array(crossings)[:, met]
    left, right = np.nanmin(at, axis=0), np.nanmax(at, axis=0)
    order = np.argsort(left)
    left, reached = left[order], np.maximum.accumulate(right[order])
    gaps = np.flatnonzero(left[1:] > reached[:-1] + bridge_mm)
    starts = left[np.concatenate([[0], gaps + 1])]
    ends = reached[np.concatenate([gaps, [len(reached) - 1]])]
    return [(float(a), float(b)) for a, b in zip(starts, ends, strict=True)]


def _spans(
    row: list[tuple[float, float]], above: list[tuple[float, float]], y: float, next_y: float
) -> list[shapely.Polygon]:
    """Return the area between two rows: joined run by run where both have as many, else bars."""
    if len(row) == len(above) and all(
        a[0] <= b[1] and b[0] <= a[1] for a, b in zip(row, above, strict=True)
    ):
        return [
            shapely.Polygon(((a[0], y), (a[1], y), (b[1], next_y), (b[0], next_y)))
            for a, b in zip(row, above, strict=True)
        ]
    return [shapely.box(a, y, b, next_y) for a, b in row]
