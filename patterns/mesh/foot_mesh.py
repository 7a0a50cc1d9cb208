"""FootMesh: a triangle surface of a foot as two read-only arrays."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from patterns.errors import FootError

TRIANGLES_MOST = 200_000
BYTES_MOST = 20_000_000
# A coordinate past this is no foot in any unit; it keeps all later sums finite.
COORDINATE_MOST_MM = 1_000_000.0

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class EdgeTable:
    """All triangles' edges, and which of them are one.

    Parameters
    ----------
    directed : array of shape (3 m, 2)
        Ends of each edge as its triangle runs; edge k belongs to triangle k modulo m.
    order : array of shape (3 m,)
        Numbers of the edges sorted so that those between the same two points follow each other.
    start, count : arrays of shape (n,)
        Where in `order` each edge between two points begins, and how many triangles have it.
    """

    directed: IntArray
    order: IntArray
    start: IntArray
    count: IntArray


@dataclass(frozen=True, eq=False)
class FootMesh:
    """A triangle surface of a foot: x heel to toe, y lateral on a left foot, z up, in mm.

    Parameters
    ----------
    vertices_mm : array of shape (n, 3)
        Points; any nested sequence is taken.
    triangles : array of shape (m, 3)
        Indices of points, counter-clockwise seen from outside.
    """

    vertices_mm: FloatArray
    triangles: IntArray

    def __post_init__(self) -> None:
        points = np.array(self.vertices_mm, dtype=np.float64).reshape(-1, 3)
        corners = np.array(self.triangles, dtype=np.int64).reshape(-1, 3)
        points.flags.writeable = corners.flags.writeable = False
        object.__setattr__(self, "vertices_mm", points)
        object.__setattr__(self, "triangles", corners)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, FootMesh):
            return NotImplemented
        return np.array_equal(self.vertices_mm, other.vertices_mm) and np.array_equal(
            self.triangles, other.triangles
        )

    def __hash__(self) -> int:
        return hash((self.vertices_mm.tobytes(), self.triangles.tobytes()))

    @cached_property
    def corners_mm(self) -> FloatArray:
        """Return the corner points of every triangle, shape (triangles, 3, 3)."""
        return self.vertices_mm[self.triangles]

    @cached_property
    def spans_mm(self) -> tuple[FloatArray, FloatArray]:
        """Return the least and the greatest x, y and z of each triangle, both (3, triangles)."""
        corners = self.corners_mm
        low, high = corners.min(axis=1).T, corners.max(axis=1).T
        return np.ascontiguousarray(low), np.ascontiguousarray(high)

    @cached_property
    def edges(self) -> EdgeTable:
        """Return the edges of all triangles, sorted by the points they join."""
        corners = self.triangles
        directed = np.vstack([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]])
        low, high = np.minimum(*directed.T), np.maximum(*directed.T)
        key = low * len(self.vertices_mm) + high
        order = np.argsort(key, kind="stable")
        new = np.flatnonzero(np.diff(key[order], prepend=-1))
        count = np.diff(np.append(new, len(order)))
        return EdgeTable(directed, order, new, count)

    @cached_property
    def points_mm(self) -> FloatArray:
        """Return the points that some triangle uses, shape (n, 3)."""
        return self.vertices_mm[np.unique(self.triangles)]


def mesh_fault(code: str, text: str, **parameters: object) -> FootError:
    """Return the error that says what is wrong with a mesh; `text` goes on after "The mesh"."""
    return FootError(f"The mesh {text}.", field="mesh", code=code, **parameters)


def tidied(points: FloatArray, corners: IntArray) -> FootMesh:
    """Return a mesh with equal points made one and points and triangles of no use left out.

    Files often repeat a point for every triangle that meets there. Points stay in the order of
    their first use in the file.
    """
    if not len(corners):
        raise mesh_fault("mesh-empty", "holds no triangles; save it with its faces")
    place = _equal_points(points)
    corners = place[corners]
    whole = (
        (corners[:, 0] != corners[:, 1])
        & (corners[:, 1] != corners[:, 2])
        & (corners[:, 2] != corners[:, 0])
    )
    corners = corners[whole]
    if not len(corners):
        raise mesh_fault("mesh-empty", "holds only triangles without area; save it again")
    used, index = np.unique(corners, return_inverse=True)
    return FootMesh(points[used], index.reshape(-1, 3))


def _equal_points(points: FloatArray) -> IntArray:
    """Return for every point the first one in the list at the very same place."""
    key = np.zeros(len(points), dtype=np.int64)
    for axis in range(3):
        # Adding 0.0 makes -0.0 and 0.0 one value. Ranks keep the joined key below 2 ** 63.
        rank = np.unique(points[:, axis] + 0.0, return_inverse=True)[1].reshape(-1)
        key = np.unique(key * (int(rank.max()) + 1) + rank, return_inverse=True)[1].reshape(-1)
    first = np.full(int(key.max()) + 1, len(points), dtype=np.int64)
    np.minimum.at(first, key, np.arange(len(points)))
    return np.asarray(first[key], dtype=np.int64)
