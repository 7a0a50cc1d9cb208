"""Closed outlines: their area, their bounds, and whether they can be used at all."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from patterns.errors import OutlineError

OutlinePoint = tuple[float, float]

POINTS_MIN = 3
POINTS_MAX = 5_000  # beyond it every later stage turns slow; a traced outline has a few hundred
COORDINATE_MAX_MM = 100_000.0  # keeps rounding errors of doubles far below a micrometre
AREA_MIN_MM2 = 1e-6  # a thousandth of a millimetre square: less is a line, not a shape


def outline_area_mm2(outline_mm: Sequence[OutlinePoint], *, name: str = "outline") -> float:
    """Return the area enclosed by a closed outline that does not cross itself.

    Parameters
    ----------
    outline_mm : sequence of (x, y), length n >= 3
        Corner points in millimetres; the first point is not repeated; either direction will do.
    name : str
        Name used in error messages, such as ``"toe box"``.

    Returns
    -------
    float
        Area in square millimetres, zero or more.

    Raises
    ------
    OutlineError
        Fewer than three points.

    Notes
    -----
    Source: "The Surveyor's Area Formula", College Mathematics Journal 17(4), 1986, pp. 326-337.

    Examples
    --------
    >>> outline_area_mm2([(0, 0), (30, 0), (30, 12), (0, 12)])  # a 30 x 12 mm strap
    360.0
    """
    _check_count(outline_mm, name, field="")
    # Measured from the first point, so that a far-away outline loses no digits.
    x0, y0 = outline_mm[0]
    doubled = 0.0
    for (xa, ya), (xb, yb) in zip(outline_mm, [*outline_mm[1:], outline_mm[0]], strict=True):
        doubled += (xa - x0) * (yb - y0) - (xb - x0) * (ya - y0)
    return abs(doubled) / 2.0


def outline_bounds_mm(
    outline_mm: Sequence[OutlinePoint], *, name: str = "outline"
) -> tuple[float, float, float, float]:
    """Return (least x, least y, greatest x, greatest y) of an outline.

    Raises
    ------
    OutlineError
        Fewer than three points.

    Examples
    --------
    >>> outline_bounds_mm([(0, 0), (30, 0), (30, 12)])
    (0, 0, 30, 12)
    """
    _check_count(outline_mm, name, field="")
    xs = [x for x, _ in outline_mm]
    ys = [y for _, y in outline_mm]
    return min(xs), min(ys), max(xs), max(ys)


def check_outline(
    outline_mm: Sequence[OutlinePoint], *, name: str = "outline", field: str = ""
) -> None:
    """Pass when an outline is finite, simple and of positive area; raise otherwise.

    Parameters
    ----------
    outline_mm : sequence of (x, y)
        Corner points in millimetres; the first point is not repeated.
    name : str
        What the outline is of, for the message.
    field : str
        Dotted name of the value in its file or form, for the error's ``field``.

    Raises
    ------
    OutlineError
        Codes ``too_few_points``, ``too_many_points``, ``not_finite``, ``too_far_out``,
        ``self_crossing`` and ``no_area``.
    """
    _check_count(outline_mm, name, field=field)
    if len(outline_mm) > POINTS_MAX:
        raise OutlineError(
            f"The {name} has {len(outline_mm)} points; at most {POINTS_MAX} can be used. "
            "Draw it with fewer points.",
            field=field,
            code="too_many_points",
            name=name,
            points=len(outline_mm),
            most=POINTS_MAX,
        )
    for index, (x, y) in enumerate(outline_mm):
        _check_point(x, y, index, name, field)
    _check_shape(outline_mm, name, field)


def _check_count(outline_mm: Sequence[OutlinePoint], name: str, *, field: str) -> None:
    if len(outline_mm) < POINTS_MIN:
        raise OutlineError(
            f"The {name} has {len(outline_mm)} points; an outline needs {POINTS_MIN} or more.",
            field=field,
            code="too_few_points",
            name=name,
            points=len(outline_mm),
            least=POINTS_MIN,
        )


def _check_point(x: float, y: float, index: int, name: str, field: str) -> None:
    if not (math.isfinite(x) and math.isfinite(y)):
        raise OutlineError(
            f"Point {index + 1} of the {name} is not two finite numbers. Give it in millimetres.",
            field=field,
            code="not_finite",
            name=name,
            point=index + 1,
        )
    if max(abs(x), abs(y)) > COORDINATE_MAX_MM:
        raise OutlineError(
            f"Point {index + 1} of the {name} lies at {x:g}, {y:g} mm; at most "
            f"{COORDINATE_MAX_MM:g} mm from the origin can be used. Check the unit.",
            field=field,
            code="too_far_out",
            name=name,
            point=index + 1,
            x_mm=x,
            y_mm=y,
            most_mm=COORDINATE_MAX_MM,
        )


def _check_shape(outline_mm: Sequence[OutlinePoint], name: str, field: str) -> None:
    area_mm2 = outline_area_mm2(outline_mm, name=name)
    if not Polygon(outline_mm).is_valid:
        raise OutlineError(
            f"The {name} crosses or touches itself. Redraw it as one plain loop.",
            field=field,
            code="self_crossing",
            name=name,
        )
    if area_mm2 < AREA_MIN_MM2:
        raise OutlineError(
            f"The {name} encloses {area_mm2:.2g} mm², which is no area. Check its points.",
            field=field,
            code="no_area",
            name=name,
            area_mm2=area_mm2,
        )


def polygon_of(outline_mm: Sequence[OutlinePoint]) -> Polygon:
    """Return an outline as a polygon; several times faster than making it point by point."""
    polygon: Polygon = shapely.polygons(np.asarray(outline_mm, dtype=float))
    return polygon
