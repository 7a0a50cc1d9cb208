"""Pack rectangles onto sheets: each as low, then as far left, as it will go."""

from collections.abc import Sequence
from dataclasses import dataclass

Size = tuple[float, float]  # width, height in mm

_SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Packed:
    """Where a rectangle came to lie: its sheet and the lower left corner on it."""

    index: int
    sheet: int
    x_mm: float
    y_mm: float
    turned: bool


def pack_boxes(
    sizes: Sequence[Size],
    sheets: Sequence[Size],
    *,
    gap_mm: float = 0.0,
    may_turn: bool = True,
) -> tuple[Packed, ...]:
    """Return where each rectangle lies; the last sheet size is repeated as often as needed.

    Parameters
    ----------
    sizes : sequence of (width, height)
        Rectangles; one that fits no sheet, turned or not, is left out of the answer.
    sheets : sequence of (width, height), length n >= 1
    gap_mm : float
        Least distance between two rectangles.
    may_turn : bool
        Whether a quarter turn is allowed where a rectangle would not fit as it is.

    Notes
    -----
    Tall ones first, each on the first sheet with room, at the lowest place of its skyline: the
    bottom-left rule ("Orthogonal packings in two dimensions", SIAM Journal on Computing 9(4),
    1980).
    """
    order = sorted(range(len(sizes)), key=lambda k: (-sizes[k][1], -sizes[k][0], k))
    open_sheets = [_Skyline(*sheets[0], gap_mm)]
    packed = []
    for index in order:
        turns = (False, True) if may_turn else (False,)
        if not any(_fits(sizes[index], sheet, turned) for sheet in sheets for turned in turns):
            continue
        packed.append(_place(index, sizes[index], open_sheets, sheets, turns, gap_mm))
    return tuple(packed)


def _fits(size: Size, sheet: Size, turned: bool) -> bool:
    width, height = (size[1], size[0]) if turned else size
    return width <= sheet[0] + _SLACK_MM and height <= sheet[1] + _SLACK_MM


def _place(
    index: int,
    size: Size,
    open_sheets: list["_Skyline"],
    sheets: Sequence[Size],
    turns: tuple[bool, ...],
    gap_mm: float,
) -> Packed:
    number = 0
    while True:
        if number == len(open_sheets):
            sheet = sheets[min(number, len(sheets) - 1)]
            open_sheets.append(_Skyline(*sheet, gap_mm))
        for turned in turns:
            width, height = (size[1], size[0]) if turned else size
            spot = open_sheets[number].lowest(width, height)
            if spot is not None:
                open_sheets[number].occupy(spot, width, height)
                return Packed(index, number, *spot, turned)
        number += 1


class _Skyline:
    """The upper edge of what lies on one sheet, as steps (left, right, height)."""

    def __init__(self, width_mm: float, height_mm: float, gap_mm: float) -> None:
        self.width_mm = width_mm
        self.height_mm = height_mm
        self.gap_mm = gap_mm
        self.steps: list[tuple[float, float, float]] = [(0.0, width_mm + gap_mm, 0.0)]

    def lowest(self, width_mm: float, height_mm: float) -> tuple[float, float] | None:
        """Return the lowest, then leftmost place for a rectangle, or None."""
        places = []
        for left, _, _ in self.steps:
            if left + width_mm > self.width_mm + _SLACK_MM:
                continue
            level = self._level(left, left + width_mm + self.gap_mm)
            if level + height_mm <= self.height_mm + _SLACK_MM:
                places.append((level, left))
        if not places:
            return None
        level, left = min(places)
        return left, level

    def _level(self, left: float, right: float) -> float:
        return max(
            (top for a, b, top in self.steps if a < right - _SLACK_MM and b > left + _SLACK_MM),
            default=0.0,
        )

    def occupy(self, spot: tuple[float, float], width_mm: float, height_mm: float) -> None:
        """Raise the skyline over a rectangle laid down at ``spot``."""
        left, right = spot[0], spot[0] + width_mm + self.gap_mm
        steps = [(left, right, spot[1] + height_mm + self.gap_mm)]
        for a, b, top in self.steps:
            if a < left - _SLACK_MM:
                steps.append((a, min(b, left), top))
            if b > right + _SLACK_MM:
                steps.append((max(a, right), b, top))
        self.steps = sorted(steps)
