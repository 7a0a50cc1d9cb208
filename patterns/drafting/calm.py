"""The insole's outline made calm: hollows before the ball bridged, small waves evened out."""

import numpy as np
from shapely import MultiPoint, Polygon, box
from shapely.affinity import rotate, translate
from shapely.geometry.polygon import orient

from patterns.geometry.curves import Point, polyline_length_mm, resample, thinned
from patterns.last.last import FloatArray
from patterns.pieces.piece import Ring

BALL = (0.50, 0.80)  # of foot length: where the outline's widest places are looked for
WAVE_SHARE = 0.018  # of foot length: waves up to about three times as long are evened out
STEP_SHARE = 0.004  # of foot length, between the points that are evened


def calm_ring(outline: Polygon, foot_length_mm: float, *, from_mesh: bool) -> Ring:
    """Return the insole's outline, counter-clockwise, as a knife would follow it.

    A cast foot has hollows between the toes and beside the smallest one; card is cut straight
    across them, as leather is drawn. Nothing is taken away before the ball. The facets of a mesh
    leave small waves, which are evened out; a foot drawn from measures has none.
    """
    bridged = _bridged(outline, foot_length_mm)
    run = [(float(x), float(y)) for x, y in bridged.exterior.coords]
    corners = thinned(_evened(run, foot_length_mm) if from_mesh else run)
    ring = orient(Polygon(corners)).exterior.coords[:-1]
    return tuple((float(x), float(y)) for x, y in ring)


def _bridged(outline: Polygon, foot_length_mm: float) -> Polygon:
    """Return the outline with all that lies before its widest places made convex."""
    points = np.asarray(outline.exterior.coords)
    low, high = (share * foot_length_mm for share in BALL)
    ball = points[(points[:, 0] > low) & (points[:, 0] < high)]
    if len(ball) < 2:
        return outline
    one, other = ball[ball[:, 1].argmin()], ball[ball[:, 1].argmax()]
    along = other - one
    turn = float(np.degrees(np.arctan2(-along[0], along[1])))
    far = 2.0 * foot_length_mm
    ahead = translate(rotate(box(0.0, -far, far, far), turn, origin=(0.0, 0.0)), *one)
    toes = outline.intersection(ahead)
    hull = MultiPoint([tuple(p) for p in _corners(toes)]).convex_hull
    joined = outline.union(hull)
    return Polygon(joined.exterior) if joined.geom_type == "Polygon" else outline


def _corners(shape: object) -> FloatArray:
    parts = getattr(shape, "geoms", [shape])
    return np.vstack([np.asarray(part.exterior.coords) for part in parts])


def _evened(run: list[Point], foot_length_mm: float) -> list[Point]:
    """Return a closed run averaged over its neighbourhood, its first point once more at the end.

    Twice over, 2 A - A A in place of A, so that the outline does not shrink.
    """
    length = polyline_length_mm(run)
    count = round(length / (STEP_SHARE * foot_length_mm))
    places = np.array(resample(run, count + 1)[:-1])
    waves = np.fft.fft(places[:, 0] + 1j * places[:, 1])
    spread = WAVE_SHARE * foot_length_mm / length
    once = np.exp(-0.5 * (2 * np.pi * np.fft.fftfreq(count, 1.0 / count) * spread) ** 2)
    even = np.fft.ifft(waves * (2.0 * once - once * once))
    points = [(float(z.real), float(z.imag)) for z in even]
    return [*points, points[0]]
