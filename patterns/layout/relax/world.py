"""A request as flat arrays: the pieces' outlines, and the leather of all hides side by side."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from patterns.geometry.convex import (
    TOUCH_MM,
    FloatArray,
    IntArray,
    convex_parts,
)
from patterns.hide import Hide
from patterns.layout.board import GRADE_MARGIN_MM
from patterns.layout.ground import polygons_of
from patterns.layout.orientations import Kind, laid_ring, search_parts
from patterns.layout.relax.tables import NO_GRADE, Ground, Rooms, Shapes
from patterns.layout.values import LayoutRequest, Placement

DISCS_MAX = 6  # inside a shape; more cost more than they tell
DISC_LEAST_SHARE = 0.25  # of the radius of the largest
CELLS_ACROSS = 24  # of the grid that tells what is near; finer saves little


@dataclass(frozen=True, slots=True)
class Form:
    """One shape of a kind, as drawn or mirrored; ``middle`` is its turning point in the file."""

    kind: int
    mirrored: bool
    middle: tuple[float, float]


@dataclass(frozen=True, slots=True)
class World:
    """All that the compiled search needs to know of a request.

    The hides stand side by side with room between them; ``shift_mm`` tells how far each was
    moved, ``start_x_mm`` where each begins. ``forms`` and ``outlines`` go with the shapes, the
    outlines about the middles; ``form_of`` gives the first form of a kind.
    """

    shapes: Shapes
    ground: Ground
    rooms: Rooms
    forms: tuple[Form, ...]
    form_of: tuple[int, ...]
    shift_mm: tuple[tuple[float, float], ...]
    start_x_mm: tuple[float, ...]
    outlines: tuple[FloatArray, ...]
    gap_mm: float


def world_of(request: LayoutRequest, kinds: Sequence[Kind]) -> World:
    """Return a request as arrays."""
    forms: list[Form] = []
    rings_of_forms: list[list[FloatArray]] = []
    twins: list[int] = []
    form_of = []
    for number, kind in enumerate(kinds):
        parts = search_parts(Polygon(kind.piece.outline_mm))
        form_of.append(len(forms))
        both = len(kind.mirrorings) == 2
        for mirrored in kind.mirrorings:
            rings = [laid_ring(part, 0.0, mirrored) for part in parts]
            middle = _middle(np.concatenate(rings))
            forms.append(Form(number, mirrored, middle))
            rings_of_forms.append([ring - middle for ring in rings])
            twins.append(-1 if not both else len(forms) if not mirrored else len(forms) - 2)
    shapes = _shapes(kinds, forms, rings_of_forms, twins)
    between = 2.0 * float(shapes.radius.max()) + request.spacing_mm + request.edge_spacing_mm + 1.0
    shift = _shifts(request.hides, between)
    return World(
        shapes=shapes,
        ground=_ground(request, shift, float(shapes.radius.max())),
        rooms=rooms_of(request, shift, range(len(request.hides))),
        forms=tuple(forms),
        form_of=tuple(form_of),
        shift_mm=shift,
        start_x_mm=tuple(
            min(x for x, _ in hide.outline_mm) + dx
            for hide, (dx, _) in zip(request.hides, shift, strict=True)
        ),
        outlines=tuple(
            laid_ring(np.array(kinds[form.kind].piece.outline_mm, dtype=float), 0.0, form.mirrored)
            - form.middle
            for form in forms
        ),
        gap_mm=request.spacing_mm - TOUCH_MM,
    )


def _middle(points: FloatArray) -> tuple[float, float]:
    circle = shapely.minimum_bounding_circle(shapely.multipoints(points))
    return float(circle.centroid.x), float(circle.centroid.y)


def _shapes(
    kinds: Sequence[Kind],
    forms: Sequence[Form],
    rings_of_forms: Sequence[Sequence[FloatArray]],
    twins: Sequence[int],
) -> Shapes:
    rings = [ring for part in rings_of_forms for ring in part]
    discs = [_discs(part) for part in rings_of_forms]
    turns = [_turns(kinds[form.kind], form.mirrored) for form in forms]
    return Shapes(
        part_first=_firsts([len(part) for part in rings_of_forms]),
        corner_first=_firsts([len(ring) for ring in rings]),
        corners=_corner_table(rings),
        radius=np.array(
            [max(float(np.hypot(*ring.T).max()) for ring in part) for part in rings_of_forms]
        ),
        disc_first=_firsts([len(found) for found in discs]),
        discs=np.concatenate(discs),
        grade=np.array([_grade(kinds[form.kind]) for form in forms], dtype=np.int64),
        turn_first=_firsts([len(found) for found, _ in turns]),
        turns=np.array([turn for found, _ in turns for turn in found]),
        slack=np.array([slack for _, slack in turns]),
        twin=np.array(twins, dtype=np.int64),
    )


def _discs(rings: Sequence[FloatArray]) -> FloatArray:
    """Return discs inside a shape, the largest first, each as x, y, radius and 0."""
    left = shapely.union_all([Polygon(ring) for ring in rings])
    found: list[tuple[float, float, float]] = []
    while len(found) < DISCS_MAX:
        pieces = polygons_of(left)
        if not pieces:
            break
        largest = max(pieces, key=lambda shape: shape.area)
        line = shapely.maximum_inscribed_circle(largest, tolerance=largest.length / 1000.0)
        radius = float(line.length)
        if radius <= 0.0 or (found and radius < DISC_LEAST_SHARE * found[0][2]):
            break
        (x, y), _ = line.coords
        found.append((x, y, radius))
        left = left.difference(shapely.Point(x, y).buffer(radius))
    # A hair smaller than they are, so that pieces that touch are not taken to overlap.
    return np.array([(x, y, radius - 2.0 * TOUCH_MM, 0.0) for x, y, radius in found])


def _grade(kind: Kind) -> int:
    return NO_GRADE - 1 if kind.piece.grade is None else kind.piece.grade


def _turns(kind: Kind, mirrored: bool) -> tuple[list[float], float]:
    """Return allowed turns and how far off them a piece may be, in radians."""
    allowed = kind.piece.rotations_deg(mirrored)
    if allowed is None:
        return [0.0], 2.0 * math.pi  # beyond a half turn either way, or some turn would be an end
    return [math.radians(turn) for turn in allowed], math.radians(kind.piece.rotation_tolerance_deg)


def _firsts(counts: Sequence[int]) -> IntArray:
    found: IntArray = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return found


def _corner_table(rings: Sequence[FloatArray]) -> FloatArray:
    """Return the rows `tables` names, the corners of all rings one after another."""
    corners = np.concatenate(rings)
    steps = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in rings])
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    lengths[lengths == 0.0] = 1.0
    normals = np.stack([steps[:, 1] / lengths, -steps[:, 0] / lengths], axis=1)
    reach = (corners * normals).sum(axis=1)
    return np.ascontiguousarray(np.vstack([corners.T, normals.T, reach]))


def _shifts(hides: Sequence[Hide], between_mm: float) -> tuple[tuple[float, float], ...]:
    found, at = [], 0.0
    for hide in hides:
        x0, y0, x1, _ = Polygon(hide.outline_mm).bounds
        found.append((at - x0, -y0))
        at += x1 - x0 + between_mm
    return tuple(found)


def _ground(
    request: LayoutRequest,
    shift: Sequence[tuple[float, float]],
    radius_mm: float,
) -> Ground:
    rings: list[FloatArray] = []
    grades: list[int] = []
    gaps: list[float] = []
    for hide, (dx, dy) in zip(request.hides, shift, strict=True):
        outer = Polygon(hide.outline_mm)
        beyond = box(*outer.buffer(2.0 * radius_mm).bounds).difference(outer)
        barred = shapely.union_all([beyond, *[Polygon(ring) for ring in hide.defects_mm]])
        parts = [part for shape in polygons_of(barred) for part in convex_parts(shape)]
        rings += [part + np.array([dx, dy]) for part in parts]
        grades += [NO_GRADE] * len(parts)
        gaps += [request.edge_spacing_mm - TOUCH_MM] * len(parts)
        for area in hide.areas:
            parts = convex_parts(Polygon(area.outline_mm))
            rings += [part + np.array([dx, dy]) for part in parts]
            grades += [area.grade] * len(parts)
            gaps += [GRADE_MARGIN_MM] * len(parts)
    bounds = np.array([[*ring.min(axis=0), *ring.max(axis=0)] for ring in rings])
    world = (bounds[:, 0].min(), bounds[:, 1].min(), bounds[:, 2].max(), bounds[:, 3].max())
    reach = radius_mm + max(gaps)
    grid, near = _near_lists(bounds, world, reach)
    return Ground(
        corner_first=_firsts([len(ring) for ring in rings]),
        corners=_corner_table(rings),
        box=bounds,
        grade=np.array(grades, dtype=np.int64),
        gap=np.array(gaps),
        near_first=_firsts([len(row) for row in near]),
        near=np.concatenate(near).astype(np.int64),
        grid=grid,
    )


def rooms_of(
    request: LayoutRequest, shift_mm: Sequence[tuple[float, float]], numbers: Sequence[int]
) -> Rooms:
    """Return the boxes of the hides of those numbers, moved to where they stand."""
    shapes = [Polygon(request.hides[number].outline_mm) for number in numbers]
    shifts = np.array([shift_mm[number] for number in numbers])
    areas = np.array([float(shape.area) for shape in shapes])
    share = np.cumsum(areas) / areas.sum()
    share[-1] = 1.0
    return Rooms(box=np.array([shape.bounds for shape in shapes]) + np.tile(shifts, 2), share=share)


def _near_lists(
    bounds: FloatArray, world: tuple[float, float, float, float], reach_mm: float
) -> tuple[FloatArray, list[IntArray]]:
    """Return the grid as `Ground` has it, and what is near each of its cells."""
    x0, y0, x1, y1 = world
    pitch = min(x1 - x0, y1 - y0) / CELLS_ACROSS
    columns, rows = math.ceil((x1 - x0) / pitch), math.ceil((y1 - y0) / pitch)
    near = []
    for row in range(rows):
        for column in range(columns):
            left, bottom = x0 + column * pitch - reach_mm, y0 + row * pitch - reach_mm
            side = pitch + 2.0 * reach_mm
            found = (
                (bounds[:, 0] <= left + side)
                & (bounds[:, 2] >= left)
                & (bounds[:, 1] <= bottom + side)
                & (bounds[:, 3] >= bottom)
            )
            near.append(np.flatnonzero(found))
    return np.array([x0, y0, pitch, columns, rows], dtype=float), near


def placement_of(
    world: World,
    request: LayoutRequest,
    kinds: Sequence[Kind],
    place: FloatArray,
    shape: int,
    hide: int,
) -> Placement:
    """Return a piece of the search, x, y, angle first in its place, in its hide's own way."""
    form = world.forms[shape]
    x, y, angle = float(place[0]), float(place[1]), float(place[2])
    dx, dy = world.shift_mm[hide]
    degrees = round(math.degrees(angle) % 360.0, 9) % 360.0
    turned = laid_ring(np.array([form.middle]), degrees, False)[0]
    return Placement(
        id=kinds[form.kind].piece.id,
        container=request.hides[hide].id,
        x_mm=round(x - dx - float(turned[0]), 6),
        y_mm=round(y - dy - float(turned[1]), 6),
        rotation_deg=degrees,
        mirrored=form.mirrored,
    )
