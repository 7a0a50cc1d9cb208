"""Ellipses: the section a tape is taken round when only its breadth and height are known."""

from math import hypot, pi, sqrt


def ellipse_perimeter_mm(breadth_mm: float, height_mm: float) -> float:
    """Return the perimeter of an ellipse from its two full axes.

    Notes
    -----
    Ramanujan's second approximation of 1914; its error is largest, 0.04 %, for a flat line,
    and below one part in a million for axes up to 3 : 1.

    Examples
    --------
    >>> round(ellipse_perimeter_mm(20, 20), 6)  # a circle of radius 10
    62.831853
    """
    a, b = breadth_mm / 2, height_mm / 2
    if a + b == 0:
        return 0.0
    h = ((a - b) / (a + b)) ** 2
    return pi * (a + b) * (1 + 3 * h / (10 + sqrt(4 - 3 * h)))


def other_axis_mm(perimeter_mm: float, axis_mm: float) -> float:
    """Return the axis an ellipse of this perimeter has across the given one, zero if none fits.

    >>> round(other_axis_mm(62.831853, 20), 4)
    20.0
    """
    low, high = 0.0, perimeter_mm
    if ellipse_perimeter_mm(axis_mm, 0.0) >= perimeter_mm:
        return 0.0
    for _ in range(60):
        middle = (low + high) / 2
        if ellipse_perimeter_mm(axis_mm, middle) < perimeter_mm:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def half_upper_arc_mm(breadth_mm: float, height_mm: float, sole_mm: float) -> float:
    """Return the way over the top of a section from its ridge down to one edge of the sole.

    Half of what the perimeter leaves when the sole is taken off; never shorter than the
    straight line from the ridge to the edge.
    """
    arc = (ellipse_perimeter_mm(breadth_mm, height_mm) - sole_mm) / 2
    return max(arc, hypot(sole_mm / 2, height_mm))
