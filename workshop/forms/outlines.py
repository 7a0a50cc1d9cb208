"""Reading and writing outlines as lines of corner points."""

import re
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.geometry.outline import POINTS_MAX, check_outline
from patterns.pieces.piece import Point, Ring

NUMBER = re.compile(r"[-+]?\d{1,7}(\.\d{1,6})?", re.ASCII)
BETWEEN_POINTS = re.compile(r"[\n;]")


def points_read(text: str, *, name: str) -> Ring:
    """Return the outline typed as points, one ``x, y`` a line or parted by semicolons.

    Raises
    ------
    django.core.exceptions.ValidationError
        A point cannot be read, or the outline cannot be used; the message says which and why.
    """
    # Counted before anything is read: a million points are refused in a moment.
    if text.count("\n") + text.count(";") > 2 * POINTS_MAX:
        raise ValidationError(
            _("These are more than %(most)s points. Draw it with fewer."),
            params={"most": POINTS_MAX},
            code="too_many_points",
        )
    lines = [line.strip() for line in BETWEEN_POINTS.split(text)]
    ring = tuple(_point_read(line, index) for index, line in enumerate(lines, 1) if line)
    if len(ring) > 1 and ring[0] == ring[-1]:
        ring = ring[:-1]
    try:
        check_outline(ring, name=name)
    except PatternError as error:
        raise ValidationError(str(error), code=error.code) from None
    return ring


def _point_read(line: str, index: int) -> Point:
    numbers = [part for part in re.split(r"[\s,]+", line) if part]
    if len(numbers) != 2 or not all(NUMBER.fullmatch(number) for number in numbers):
        raise ValidationError(
            _("Point %(index)s reads “%(line)s”; write two numbers in mm, such as 120, 45.5."),
            params={"index": index, "line": line[:40]},
            code="point_unread",
        )
    return float(numbers[0]), float(numbers[1])


def points_written(ring: Sequence[Sequence[float]], *, between: str = "\n") -> str:
    """Return an outline as text that `points_read` reads back."""
    return between.join(f"{_figure(x)}, {_figure(y)}" for x, y in ring)


def _figure(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
