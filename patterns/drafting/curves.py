"""A style's curves as functions on a last's surface: zero along the curve."""

from collections.abc import Mapping

import numpy as np
from scipy.interpolate import PchipInterpolator

from patterns.errors import StyleError
from patterns.last.last import FloatArray, IntArray
from patterns.style_lines import Curve, StyleLines

LEAST_SLOPE = 0.2  # a field that hardly changes along the surface moves a curve no further


def curve_values(
    curve: Curve,
    lines: StyleLines,
    fields: Mapping[str, FloatArray],
    landmarks: Mapping[str, float],
    moved_mm: FloatArray | float = 0.0,
) -> FloatArray:
    """Return a curve's function at every point, positive where its field is above the curve.

    Parameters
    ----------
    moved_mm : float or array of shape (points,)
        How far the maker has moved the curve, towards greater values of its field.

    Raises
    ------
    StyleError
        A formula names a landmark that there is not.
    """
    shift, places, values = curve_numbers(curve, landmarks)
    if curve.like:
        base = curve_values(lines.curve(curve.like), lines, fields, landmarks, moved_mm)
        return np.asarray(base - shift, dtype=float)
    line = _function(curve, places, values, fields[curve.over] if curve.over else None)
    return np.asarray(fields[curve.field] - line - moved_mm, dtype=float)


def curve_numbers(
    curve: Curve, landmarks: Mapping[str, float]
) -> tuple[float, FloatArray, FloatArray]:
    """Return a curve's shift, and the places and values it goes through, worked out.

    Raises
    ------
    StyleError
        A formula names a landmark that there is not.
    """
    try:
        return (
            curve.shift_mm.value(landmarks),
            np.array([place.value(landmarks) for place, _ in curve.through]),
            np.array([value.value(landmarks) for _, value in curve.through]),
        )
    except KeyError as error:
        text = f"The curve {curve.name!r} follows {error}, which there is not."
        raise StyleError(text, field="style", code="style-landmark", curve=curve.name) from None


def _function(
    curve: Curve, places: FloatArray, values: FloatArray, over: FloatArray | None
) -> FloatArray | float:
    if over is None or len(places) == 1:
        return float(values[0])
    order = np.argsort(places, kind="stable")
    places, values = places[order], values[order]
    kept = np.concatenate([[True], np.diff(places) > 1e-9])
    places, values = places[kept], values[kept]
    if len(places) == 1:
        return float(values[0])
    if curve.kind == "straight":
        slope = (values[-1] - values[0]) / (places[-1] - places[0])
        if len(places) == 2:
            return np.asarray(values[0] + slope * (over - places[0]), dtype=float)
        return np.asarray(np.interp(over, places, values), dtype=float)
    held = np.clip(over, places[0], places[-1])
    return np.asarray(PchipInterpolator(places, values)(held), dtype=float)


def slope_along_surface(
    points_mm: FloatArray, triangles: IntArray, values: FloatArray
) -> FloatArray:
    """Return how steeply a function changes along the surface, at each point, per mm.

    A correction in mm along the leather is that many times this in the curve's own function.
    """
    a, b, c = (points_mm[triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    doubled = np.linalg.norm(normal, axis=1)
    va, vb, vc = (values[triangles[:, k]][:, None] for k in range(3))
    rotated = va * (c - b) + vb * (a - c) + vc * (b - a)
    gradient = np.linalg.norm(rotated, axis=1) / np.maximum(doubled, 1e-12)
    total, weight = np.zeros(len(points_mm)), np.zeros(len(points_mm))
    for k in range(3):
        np.add.at(total, triangles[:, k], gradient * doubled)
        np.add.at(weight, triangles[:, k], doubled)
    return np.maximum(total / np.maximum(weight, 1e-12), LEAST_SLOPE)
