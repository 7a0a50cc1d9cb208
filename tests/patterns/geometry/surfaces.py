"""Small surfaces of triangles for the tests of the geometry: a ball, a tube, a cone, a cap."""

import numpy as np
from scipy.spatial import ConvexHull, Delaunay

from patterns.geometry.surface import Surface, part_of


def bumpy_ball(seed, points=400, height_mm=0.2, radius_mm=20.0):
    """Return a closed ball of even points with smooth bumps, its triangles facing outward."""
    rng = np.random.default_rng(seed)
    k = np.arange(points) + 0.5
    polar, around = np.arccos(1 - 2 * k / points), np.pi * (1 + 5**0.5) * k
    unit = np.column_stack(
        [np.sin(polar) * np.cos(around), np.sin(polar) * np.sin(around), np.cos(polar)]
    )
    triangles = ConvexHull(unit).simplices.astype(np.int64)
    a, b, c = (unit[triangles[:, turn]] for turn in range(3))
    inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), a) < 0
    triangles[inward] = triangles[inward][:, ::-1]
    waves = np.sin(unit @ rng.uniform(-2, 2, (3, 4)) + rng.uniform(0, 6, 4)).mean(axis=1)
    radius = radius_mm * (1 + height_mm * waves)
    return Surface(unit * radius[:, None], triangles)


def square_grid(across, along):
    """Return places of a square grid, shape (across * along, 2), from 0 to 1, and triangles."""
    u, v = np.meshgrid(np.linspace(0, 1, across), np.linspace(0, 1, along))
    places = np.column_stack([u.ravel(), v.ravel()])
    corner = np.arange((along - 1) * across).reshape(along - 1, across)[:, :-1].ravel()
    lower = np.column_stack([corner, corner + 1, corner + across])
    upper = np.column_stack([corner + 1, corner + across + 1, corner + across])
    return places, np.vstack([lower, upper])


def tube_sheet(radius_mm=12.0, degrees=200.0, height_mm=30.0, across=30, along=16):
    """Return part of the wall of an upright tube, seen from outside."""
    places, triangles = square_grid(across, along)
    angle = np.radians(degrees) * places[:, 0]
    points = [radius_mm * np.cos(angle), radius_mm * np.sin(angle), height_mm * places[:, 1]]
    return Surface(np.column_stack(points), triangles)


def cone_sheet(least_mm=8.0, most_mm=20.0, height_mm=25.0, degrees=220.0, across=40, along=14):
    """Return part of the wall of an upright cone without its tip, its mesh one of true cones.

    The points of every level lie on the rays of one fan, so that the triangles unroll exactly.
    """
    places, triangles = square_grid(across, along)
    angle = np.radians(degrees) * places[:, 0]
    radius = most_mm + (least_mm - most_mm) * places[:, 1]
    points = [radius * np.cos(angle), radius * np.sin(angle), height_mm * places[:, 1]]
    return Surface(np.column_stack(points), triangles)


def tube_ring(radius_mm=12.0, height_mm=30.0, across=30, along=16):
    """Return the whole wall of an upright tube, open at both ends."""
    sheet = tube_sheet(radius_mm, 360.0, height_mm, across + 1, along)
    last = np.arange(len(sheet.points_mm)) % (across + 1) == across
    to = np.arange(len(last)) - np.where(last, across, 0)
    kept, inverse = np.unique(to[sheet.triangles], return_inverse=True)
    return Surface(sheet.points_mm[kept], inverse.reshape(-1, 3).astype(np.int64))


def ball_cap(degrees, rings, radius_mm=20.0):
    """Return all of a ball within an angle of its top, in rings of even triangles."""
    polar, around = [0.0], [0.0]
    for ring in range(1, rings + 1):
        polar += [np.radians(degrees) * ring / rings] * (6 * ring)
        around += list(2 * np.pi * np.arange(6 * ring) / (6 * ring))
    polar, around = np.array(polar), np.array(around)
    disc = np.column_stack([polar * np.cos(around), polar * np.sin(around)])
    triangles = Delaunay(disc).simplices.astype(np.int64)
    first, second = (disc[triangles[:, k]] - disc[triangles[:, 0]] for k in (1, 2))
    turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    triangles[turn < 0] = triangles[turn < 0][:, ::-1]
    triangles = triangles[np.abs(turn) > 1e-9]
    unit = [np.sin(polar) * np.cos(around), np.sin(polar) * np.sin(around), np.cos(polar)]
    return Surface(radius_mm * np.column_stack(unit), triangles)


def bumpy_patch(seed, height_mm=0.2):
    """Return a quarter of a bumpy ball: a disc with corners."""
    ball = bumpy_ball(seed, height_mm=height_mm)
    middles = ball.points_mm[ball.triangles].mean(axis=1)
    return part_of(ball, (middles[:, 2] > 0) & (middles[:, 0] > 0))
