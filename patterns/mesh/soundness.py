"""Whether a mesh is the surface of one foot: one part, two triangles an edge, all facing out."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from patterns.errors import FootError
from patterns.mesh.foot_mesh import FloatArray, FootMesh, IntArray, mesh_fault
from patterns.mesh.section import open_edges, section_hull

TWO_FEET_SHARE = 0.5  # a second part this large beside the first is another foot
# A closed part this small inside the foot, such as a nail, changes nothing and may stay.
INNER_PART_SHARE = 0.2
LEG_CUT_LEAST = 0.35  # of foot length: the leg may be open from here up, where no shoe's sole is
LEG_CUT_SHARE = 0.5  # of the girth below it: a rim shorter than this is a hole, not the leg's cut


@dataclass(frozen=True, slots=True)
class Opening:
    """A rim where the surface ends: its middle, how far across it is, its length and lowest point.

    All in mm.
    """

    middle_mm: tuple[float, float, float]
    across_mm: float
    length_mm: float
    lowest_mm: float


def surface_problems(mesh: FootMesh) -> list[FootError]:
    """Return what is wrong with the surface wherever it lies: parts, edges, mixed facing."""
    problems = _part_problems(mesh)
    shared = _edge_problems(mesh)
    return problems + (shared or _facing_problems(mesh))


# --- parts ---------------------------------------------------------------------------------


def _part_problems(mesh: FootMesh) -> list[FootError]:
    used, corner = np.unique(mesh.triangles, return_inverse=True)
    corners = corner.reshape(-1, 3)
    count, label = _linked(len(used), corners[:, :2], corners[:, 1:])
    if count < 2:
        return []
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    np.minimum.at(low, label, mesh.vertices_mm[used])
    np.maximum.at(high, label, mesh.vertices_mm[used])
    size = np.linalg.norm(high - low, axis=1)
    order = np.argsort(-size, kind="stable")
    main, second = int(order[0]), int(order[1])
    if size[second] > TWO_FEET_SHARE * size[main]:
        return [
            mesh_fault(
                "mesh-two-feet",
                f"holds {count} separate parts, two of them of like size, as when both feet are in"
                " one file; save one foot alone",
                parts=count,
            )
        ]
    slack = 0.02 * size[main]
    inside = ((low >= low[main] - slack) & (high <= high[main] + slack)).all(axis=1)
    stray = [k for k in order[1:] if not (inside[k] and size[k] < INNER_PART_SHARE * size[main])]
    if not stray:
        return []
    middle = (low[stray[0]] + high[stray[0]]) / 2
    return [
        mesh_fault(
            "mesh-parts",
            f"holds {len(stray)} separate parts besides the foot, the largest"
            f" {size[stray[0]]:.3g} across {_at(middle)}; delete them or join them to the foot",
            parts=len(stray),
        )
    ]


def _linked(count: int, *pairs: IntArray) -> tuple[int, npt.NDArray[np.int32]]:
    """Return how many groups linked pairs make of `count` things, and the group of each."""
    links = np.vstack(pairs)
    ones = np.ones(len(links), dtype=np.int8)
    graph = coo_array((ones, (links[:, 0], links[:, 1])), shape=(count, count))
    groups, label = connected_components(graph.tocsr(), directed=False)
    return int(groups), label


# --- edges and facing ----------------------------------------------------------------------


def _edge_problems(mesh: FootMesh) -> list[FootError]:
    table = mesh.edges
    crowded = table.order[table.start[table.count > 2]]
    if not len(crowded):
        return []
    where = mesh.vertices_mm[table.directed[crowded[0]]].mean(axis=0)
    return [
        mesh_fault(
            "mesh-non-manifold",
            f"has {len(crowded)} edges where three or more triangles meet, one {_at(where)};"
            " delete inner walls and doubled faces there",
            edges=len(crowded),
        )
    ]


def _facing_problems(mesh: FootMesh) -> list[FootError]:
    """Return the fault of neighbours that face opposite ways: they run their edge alike."""
    table = mesh.edges
    pair = table.start[table.count == 2]
    first, second = table.order[pair], table.order[pair + 1]
    alike = table.directed[first, 0] == table.directed[second, 0]
    if not alike.any():
        return []
    faces = len(mesh.triangles)
    agreeing = np.column_stack([first, second])[~alike] % faces
    count, label = _linked(faces, agreeing)
    flipped = faces - int(np.bincount(label, minlength=count).max())
    where = mesh.vertices_mm[table.directed[first[alike][0]]].mean(axis=0)
    return [
        mesh_fault(
            "mesh-mixed-facing",
            f"has about {flipped} triangles that face the other way than their neighbours, one"
            f" {_at(where)}; make all faces point outwards",
            triangles=flipped,
        )
    ]


def is_inside_out(mesh: FootMesh) -> bool:
    """Return whether a consistently facing surface encloses its inside with the faces inwards.

    An open rim is closed in thought by a fan from its middle.
    """
    origin = mesh.points_mm.mean(axis=0)
    a, b, c = np.moveaxis(mesh.corners_mm - origin, 1, 0)
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c)))
    edges = open_edges(mesh)
    if len(edges):
        middles = _rim_middles(mesh, edges)
        start, end = (mesh.vertices_mm[edges[:, k]] - origin for k in (1, 0))
        volume += float(np.einsum("ij,ij->", start, np.cross(end, middles - origin)))
    return volume < 0.0


def _rim_middles(mesh: FootMesh, edges: IntArray) -> FloatArray:
    """Return for every open edge the middle of the rim it belongs to."""
    count, label = _linked(len(mesh.vertices_mm), edges)
    rim = label[edges[:, 0]]
    total, number = np.zeros((count, 3)), np.zeros(count)
    np.add.at(total, rim, mesh.vertices_mm[edges[:, 0]])
    np.add.at(number, rim, 1.0)
    return np.asarray((total / np.maximum(number, 1.0)[:, None])[rim], dtype=np.float64)


# --- openings ------------------------------------------------------------------------------


def openings(mesh: FootMesh) -> list[Opening]:
    """Return the rims of a mesh, the longest first; none if it is closed."""
    edges = open_edges(mesh)
    if not len(edges):
        return []
    _, label = _linked(len(mesh.vertices_mm), edges)
    found = []
    for rim in np.unique(label[edges[:, 0]]):
        ends = mesh.vertices_mm[edges[label[edges[:, 0]] == rim]]
        points = ends[:, 0]
        x, y, z = points.mean(axis=0)
        found.append(
            Opening(
                (float(x), float(y), float(z)),
                float(np.linalg.norm(np.ptp(points, axis=0))),
                float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum()),
                float(points[:, 2].min()),
            )
        )
    return sorted(found, key=lambda opening: -opening.length_mm)


def opening_problems(mesh: FootMesh, foot_length_mm: float) -> list[FootError]:
    """Return the holes of a mesh that stands in the foot's frame; the leg's cut is none."""
    problems = []
    cut_seen = False
    for opening in openings(mesh):
        if not cut_seen and _is_leg_cut(mesh, opening):
            cut_seen = True
            if opening.lowest_mm < LEG_CUT_LEAST * foot_length_mm:
                problems.append(
                    mesh_fault(
                        "mesh-low",
                        f"is open down to {opening.lowest_mm:.1f} mm above the ground, below the"
                        " ankle; leave the leg on as high as the boot",
                        lowest_mm=opening.lowest_mm,
                    )
                )
            continue
        problems.append(
            mesh_fault(
                "mesh-open",
                f"has a hole {opening.across_mm:.1f} mm across {_at(opening.middle_mm)}; close it."
                " Only the leg's cut may be open",
                across_mm=opening.across_mm,
            )
        )
    return problems


def _is_leg_cut(mesh: FootMesh, opening: Opening) -> bool:
    """Return whether a rim is where the leg was cut: at the top, and about as long as its girth."""
    top = float(mesh.points_mm[:, 2].max())
    if opening.middle_mm[2] < 0.6 * top:
        return False
    girth = section_hull(mesh, (0.0, 0.0, opening.lowest_mm - 0.01 * top), (0.0, 0.0, 1.0))[0]
    return opening.length_mm > LEG_CUT_SHARE * girth


def _at(point: npt.ArrayLike) -> str:
    x, y, z = np.asarray(point, dtype=float)
    return f"near x {x:.4g}, y {y:.4g}, z {z:.4g}"
