"""How much leather a layout takes: the part of each hide cut off for it, and the waste in that."""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import box

from patterns.geometry.convex import FloatArray
from patterns.hide import Hide
from patterns.layout.ground import laid_shape, usable_area_mm2, usable_shape
from patterns.layout.values import Layout, LayoutRequest

Bounds = tuple[float, float, float, float]

MAP_POINTS_ACROSS = 160  # the search compares cuts on a raster this fine; reports are exact


@dataclass(frozen=True, slots=True)
class WasteReport:
    """What a layout takes from its hides.

    ``used_area_mm2`` is the pieces alone; ``occupied_area_mm2`` what is cut off the hides for
    them (see `layout_waste`); ``waste_share`` the part of that which is not pieces, from 0 to 1;
    ``usable_area_mm2`` all the leather given; ``pairs`` the complete sets.
    """

    used_area_mm2: float
    occupied_area_mm2: float
    waste_share: float
    usable_area_mm2: float
    pairs: int


def layout_waste(request: LayoutRequest, layout: Layout) -> WasteReport:
    """Return how much leather a layout takes and the share of it that is wasted.

    Occupied is what the maker cuts off so that the rest goes back on the shelf: the usable
    leather on the pieces' side of one straight cut across the hide, or of two cuts that take a
    corner, along the hide's x and y. Of the four sides and four corners the one with the least
    leather counts; each hide by itself. Used is the net area of the pieces laid. The waste share
    is 1 - used / occupied, 0 for an empty layout, so that used = occupied x (1 - waste share).
    Laying one more piece never makes the occupied area smaller.

    Raises
    ------
    LayoutError
        Defects leave nothing of a hide.
    """
    pieces = {piece.id: piece for piece in request.pieces}
    occupied = 0.0
    used = 0.0
    for hide in request.hides:
        shapes = [
            laid_shape(pieces[row.id], row) for row in layout.placements if row.container == hide.id
        ]
        if shapes:
            used += sum(shape.area for shape in shapes)
            bounds = shapely.total_bounds(np.array(shapes)).tolist()
            occupied += _least_cut_mm2(hide, (bounds[0], bounds[1], bounds[2], bounds[3]))
    return WasteReport(
        used_area_mm2=used,
        occupied_area_mm2=max(occupied, used),
        waste_share=1.0 - used / max(occupied, used) if used else 0.0,
        usable_area_mm2=usable_area_mm2(request),
        pairs=layout.complete_sets,
    )


def _least_cut_mm2(hide: Hide, laid: Bounds) -> float:
    usable = usable_shape(hide)
    whole: Bounds = usable.bounds
    return float(min(usable.intersection(box(*cut)).area for cut in _cuts(whole, laid)))


def _cuts(whole: Bounds, laid: Bounds) -> list[Bounds]:
    """Return the boxes that hold the laid pieces and go to one side or one corner of the hide."""
    x0, y0, x1, y1 = whole
    low_x, low_y, high_x, high_y = laid
    across = [(x0, high_x), (low_x, x1), (x0, x1)]
    along = [(y0, high_y), (low_y, y1), (y0, y1)]
    return [(left, bottom, right, top) for left, right in across for bottom, top in along]


class CutMap:
    """Quick estimates of the leather cut off one hide, for comparing layouts in the search."""

    def __init__(self, hide: Hide) -> None:
        usable = usable_shape(hide)
        shapely.prepare(usable)
        x0, y0, x1, y1 = usable.bounds
        self._origin = (x0, y0)
        self._pitch = max(x1 - x0, y1 - y0) / MAP_POINTS_ACROSS
        columns = int(np.ceil((x1 - x0) / self._pitch))
        rows = int(np.ceil((y1 - y0) / self._pitch))
        xs, ys = np.meshgrid(
            x0 + (np.arange(columns) + 0.5) * self._pitch,
            y0 + (np.arange(rows) + 0.5) * self._pitch,
        )
        inside = shapely.contains_xy(usable, xs, ys)
        self._sums: FloatArray = np.zeros((rows + 1, columns + 1))
        self._sums[1:, 1:] = np.cumsum(np.cumsum(inside, axis=0), axis=1)
        self.usable_mm2 = float(usable.area)

    def occupied_mm2(self, laid: Bounds) -> float:
        """Return about how much leather the best cut round the laid pieces takes off."""
        rows, columns = self._sums.shape
        (x0, y0), pitch = self._origin, self._pitch
        left = min(max((laid[0] - x0) / pitch, 0.0), columns - 1.0)
        right = min(max((laid[2] - x0) / pitch, 0.0), columns - 1.0)
        bottom = min(max((laid[1] - y0) / pitch, 0.0), rows - 1.0)
        top = min(max((laid[3] - y0) / pitch, 0.0), rows - 1.0)
        wide, high = columns - 1.0, rows - 1.0
        cells = [
            self._sum(right, top),
            self._sum(wide, top) - self._sum(left, top),
            self._sum(right, high) - self._sum(right, bottom),
            self._sum(wide, high)
            - self._sum(left, high)
            - self._sum(wide, bottom)
            + self._sum(left, bottom),
            self._sum(right, high),
            self._sum(wide, high) - self._sum(left, high),
            self._sum(wide, top),
            self._sum(wide, high) - self._sum(wide, bottom),
        ]
        return float(min(cells) * pitch * pitch)

    def _sum(self, x: float, y: float) -> float:
        """Return the usable cells below and left of a point, counted in parts of cells."""
        rows, columns = self._sums.shape
        column, row = min(int(x), columns - 2), min(int(y), rows - 2)
        along, up = x - column, y - row
        sums = self._sums
        low = sums[row, column] * (1 - along) + sums[row, column + 1] * along
        high = sums[row + 1, column] * (1 - along) + sums[row + 1, column + 1] * along
        return float(low * (1 - up) + high * up)
