"""How much of a hide can be cut, and the plain shapes defects are recorded with."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import cos, pi, radians, sin

from shapely.geometry import Polygon

from patterns.errors import HideError
from patterns.geometry.outline import OutlinePoint, outline_area_mm2, outline_bounds_mm
from patterns.hide import Hide
from patterns.layout.ground import usable_shape
from patterns.pieces.piece import Ring

ROUND_CORNERS = 32  # circumscribed, so it covers the circle; 0.32 % more area
SAME_POINT_MM = 1e-6


def rectangle_ring(left_mm: float, bottom_mm: float, width_mm: float, height_mm: float) -> Ring:
    """Return an upright rectangle, counter-clockwise from its lower left corner.

    Examples
    --------
    >>> rectangle_ring(10, 20, 30, 5)
    ((10, 20), (40, 20), (40, 25), (10, 25))
    """
    right_mm, top_mm = left_mm + width_mm, bottom_mm + height_mm
    return ((left_mm, bottom_mm), (right_mm, bottom_mm), (right_mm, top_mm), (left_mm, top_mm))


def round_ring(left_mm: float, bottom_mm: float, width_mm: float, height_mm: float) -> Ring:
    """Return corners round the ellipse that fills a box; its sides touch it, so it is covered.

    Examples
    --------
    >>> [round(bound, 9) for bound in outline_bounds_mm(round_ring(10, 20, 8, 6))]
    [10.0, 20.0, 18.0, 26.0]
    """
    half_step = pi / ROUND_CORNERS
    reach = 1.0 / cos(half_step)
    x_mm, y_mm = left_mm + width_mm / 2, bottom_mm + height_mm / 2
    angles = [(2 * k + 1) * half_step for k in range(ROUND_CORNERS)]
    return tuple(
        (x_mm + width_mm / 2 * reach * cos(a), y_mm + height_mm / 2 * reach * sin(a))
        for a in angles
    )


def ring_box(ring_mm: Sequence[OutlinePoint]) -> tuple[float, float, float, float]:
    """Return the lower left corner, width and height of the box round an outline."""
    left, bottom, right, top = outline_bounds_mm(ring_mm)
    return left, bottom, right - left, top - bottom


def is_rectangle(ring_mm: Sequence[OutlinePoint]) -> bool:
    """Return whether an outline is just what `rectangle_ring` makes."""
    return _is_same(ring_mm, rectangle_ring(*ring_box(ring_mm)))


def is_round(ring_mm: Sequence[OutlinePoint]) -> bool:
    """Return whether an outline is just what `round_ring` makes."""
    return _is_same(ring_mm, round_ring(*ring_box(ring_mm)))


def _is_same(first: Sequence[OutlinePoint], second: Sequence[OutlinePoint]) -> bool:
    return len(first) == len(second) and all(
        max(abs(xa - xb), abs(ya - yb)) < SAME_POINT_MM
        for (xa, ya), (xb, yb) in zip(first, second, strict=True)
    )


def plain_ring(ring_mm: Ring, within_mm: float) -> Ring:
    """Return an outline with fewer corners, nowhere further than so much from the given one.

    Examples
    --------
    >>> plain_ring(((0.0, 0.0), (5.0, 0.1), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0)), 0.5)
    ((0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0))
    """
    shape = Polygon(ring_mm).simplify(within_mm)
    return tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1])


def whole_area_mm2(hide: Hide) -> float:
    """Return the area inside the outline, defects included: what a seller measures."""
    return outline_area_mm2(hide.outline_mm, name=f"outline of hide {hide.id}")


def check_on_hide(hide: Hide) -> None:
    """Raise HideError where a defect or a graded area lies beside the hide; ``field`` names it."""
    outer = Polygon(hide.outline_mm)
    named = [(f"holes[{k}]", f"Defect {k + 1}", ring) for k, ring in enumerate(hide.defects_mm)]
    named += [
        (f"areas[{k}].outer", f"Area {k + 1}", area.outline_mm) for k, area in enumerate(hide.areas)
    ]
    for field, what, ring_mm in named:
        if not outer.intersects(Polygon(ring_mm)):
            raise HideError(
                f"{what} lies beside hide {hide.id}. Move it onto the hide or leave it out.",
                field=field,
                code="beside_the_hide",
                hide=hide.id,
            )


def usable_hide_area_mm2(hide: Hide) -> float:
    """Return the area inside the outline without the defects; what overlaps counts once.

    Raises
    ------
    HideError
        A defect or a graded area lies beside the hide (``field`` is ``"holes[2]"`` or
        ``"areas[0].outer"``, counted from zero), or the defects leave nothing.

    Examples
    --------
    >>> usable_hide_area_mm2(Hide("H-0001", ((0, 0), (100, 0), (100, 50), (0, 50)),
    ...     (((10, 10), (20, 10), (20, 20), (10, 20)),)))
    4900.0
    """
    check_on_hide(hide)
    area_mm2 = float(usable_shape(hide).area)
    if area_mm2 <= 0.0:
        raise HideError(
            f"The defects of hide {hide.id} leave nothing to cut from. Check their outlines.",
            field="holes",
            code="nothing_usable",
            hide=hide.id,
        )
    return area_mm2


def hide_along_tight_way(hide: Hide, tight_way_deg: float) -> Hide:
    """Return the hide turned so that its tight way runs along x, as layouts take it.

    Parameters
    ----------
    hide : Hide
        As it was recorded.
    tight_way_deg : float
        Its tight way in that record, counter-clockwise from the x axis.

    Raises
    ------
    HideError
        Turned, the hide is larger than can be used.
    """
    if tight_way_deg == 0.0:
        return hide
    angle = radians(-tight_way_deg)
    c, s = cos(angle), sin(angle)

    def turned(ring_mm: Ring) -> Ring:
        return tuple((c * x - s * y, s * x + c * y) for x, y in ring_mm)

    return _moved(hide, turned)


def hide_at_origin(hide: Hide) -> Hide:
    """Return the hide moved so that the box round it begins at the origin.

    >>> hide_at_origin(Hide("H-0001", ((5, 7), (15, 7), (5, 27)))).outline_mm
    ((0, 0), (10, 0), (0, 20))
    """
    left, bottom, _right, _top = outline_bounds_mm(hide.outline_mm)
    return _moved(hide, lambda ring: tuple((x - left, y - bottom) for x, y in ring))


def _moved(hide: Hide, move: Callable[[Ring], Ring]) -> Hide:
    return replace(
        hide,
        outline_mm=move(hide.outline_mm),
        defects_mm=tuple(move(ring) for ring in hide.defects_mm),
        areas=tuple(replace(area, outline_mm=move(area.outline_mm)) for area in hide.areas),
    )


def worth_area_mm2(hide: Hide) -> float:
    """Return the usable area counted by its worth: what the best grade would be for the same money.

    Leather of no graded area is of the best grade; where areas overlap the lesser one counts.

    Examples
    --------
    >>> from patterns.hide import GradedArea
    >>> belly = GradedArea(2, ((50, 0), (100, 0), (100, 50), (50, 50)), "belly", 0.5)
    >>> worth_area_mm2(Hide("H-0001", ((0, 0), (100, 0), (100, 50), (0, 50)), (), (belly,)))
    3750.0
    """
    left = usable_shape(hide)
    worth_mm2 = 0.0
    for area in sorted(hide.areas, key=lambda area: area.worth):
        ring = Polygon(area.outline_mm)
        worth_mm2 += area.worth * float(left.intersection(ring).area)
        left = left.difference(ring)
    return worth_mm2 + float(left.area)
