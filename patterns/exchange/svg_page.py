"""How large an SVG drawing is: its lengths, its ``viewBox``, and the matrix to mm with y up."""

import re
from collections.abc import Mapping

from patterns.errors import OutlineError
from patterns.exchange.outline_file import line_fault
from patterns.exchange.svg_path import TOKEN, finite_number

Matrix = tuple[float, float, float, float, float, float]

# CSS Values and Units Level 4, 6.2: 96 px are an inch of 25.4 mm.
MM_PER_PX = 25.4 / 96
MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
    "px": MM_PER_PX,
    "": MM_PER_PX,
}
LENGTH = re.compile(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d{1,2})?)\s*([A-Za-z%]*)\s*", re.ASCII)


def page_matrix(given: Mapping[str, str], line: int, mm_per_unit: float | None) -> Matrix | None:
    """Return what turns the drawing's units into mm with y up; None if the file has no size.

    Parameters
    ----------
    given : mapping
        The attributes of the outermost ``svg``.
    line : int
    mm_per_unit : float or None
        How long one of the drawing's own units is, where somebody said so: what the file says of
        its size is then left aside.

    Raises
    ------
    OutlineError
        The file says that it has no size at all, or something that is no length.
    """
    box = _box(given, line)
    if mm_per_unit is not None:
        left, top, _across, tall = box or (0.0, 0.0, 0.0, 0.0)
        return _matrix(mm_per_unit, mm_per_unit, left, top + tall)
    width, height = (_page_length(given.get(key, ""), line) for key in ("width", "height"))
    if width is None and height is None:
        return None
    if box is None:
        return _matrix(MM_PER_PX, MM_PER_PX, 0.0, (height or 0.0) / MM_PER_PX)
    pairs = ((width, box[2]), (height, box[3]))
    scales = [length / units for length, units in pairs if length is not None]
    across, up = scales[0], scales[-1]
    fit = given.get("preserveAspectRatio", "xMidYMid meet").split()
    if fit[:1] != ["none"]:
        across = up = max(scales) if "slice" in fit else min(scales)
    return _matrix(across, up, box[0], box[1] + box[3])


def no_size(line: int) -> OutlineError:
    """Return the fault of a drawing that does not say how large it is."""
    return OutlineError(
        f"Line {line} of the outline file does not say how large the drawing is. Choose the unit"
        " it is drawn in, or save it with a width in mm.",
        field="outline",
        code="unit_missing",
        line=line,
    )


def _matrix(across: float, up: float, left: float, bottom: float) -> Matrix:
    """Return the matrix that brings the corner at the lower left to the origin."""
    return (across, 0.0, 0.0, -up, -across * left, up * bottom)


def _box(given: Mapping[str, str], line: int) -> tuple[float, float, float, float] | None:
    text = given.get("viewBox", "").strip()
    if not text:
        return None
    numbers = [number for _letter, number in TOKEN.findall(text)]
    if len(numbers) != 4 or TOKEN.sub("", text).strip(" ,\t\r\n"):
        raise line_fault(line, f"has the viewBox “{text[:30]}”; it needs four numbers")
    left, top, width, height = (finite_number(number, line) for number in numbers)
    if width <= 0.0 or height <= 0.0:
        raise line_fault(line, "has a viewBox of no size, so nothing of it is drawn")
    return left, top, width, height


def _page_length(text: str, line: int) -> float | None:
    """Return a length of the page in mm; None for none, or for a share of whatever shows it."""
    if not text.strip() or text.strip() == "auto" or text.strip().endswith("%"):
        return None
    length = user_length(text, line) * MM_PER_PX
    if length <= 0.0:
        raise line_fault(line, "has a page of no size, so nothing of it is drawn")
    return length


def user_length(text: str, line: int) -> float:
    """Return a length in the drawing's own units, 0 for none; mm and others become so many px.

    Raises
    ------
    OutlineError
        A share of the page or of a letter's size: how long that is the file alone does not say.
    """
    if not text:
        return 0.0
    found = LENGTH.fullmatch(text)
    unit = found[2].lower() if found is not None else ""
    if found is None or unit not in MM_PER_UNIT:
        raise line_fault(line, f"has the length “{text[:20]}”; write it in mm or without a unit")
    value = finite_number(found[1], line)
    return value if not unit or unit == "px" else value * MM_PER_UNIT[unit] / MM_PER_PX
