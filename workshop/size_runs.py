"""A size run: one style drafted over many feet, each piece's outlines laid over one another."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from patterns.drafting.compare import piece_difference
from patterns.errors import PatternError
from patterns.pieces.piece import PieceSet, Ring
from patterns.style import load_style
from workshop.drafting import Asked, drafted
from workshop.mesh_files import foot_read

FEET_MOST = 12
PLACES = 3

Report = Callable[[int, int, str], None]


def size_run(inputs: Mapping[str, Any], report: Report) -> dict[str, Any]:
    """Return every piece's outlines over all feet, and how far each lies from the first foot's.

    Parameters
    ----------
    inputs : mapping
        ``style`` its name, ``values``, and ``feet``: each a ``name`` and a ``foot`` document. The
        first foot is what the others are held against.
    report : callable
        Told the number of feet done, of all, and the next one's name.

    Returns
    -------
    dict
        ``feet`` (names), ``faults`` (a text for each foot that this style cannot be drawn for),
        ``pieces``: each a ``name`` and ``outlines`` with ``foot``, ``ring``, ``most_mm``,
        ``mean_mm`` and ``longer_mm``.

    Raises
    ------
    PatternError
        The style cannot be drawn for the first foot.
    """
    style = load_style(inputs["style"])
    rows = inputs["feet"]
    sets: list[tuple[int, PieceSet]] = []
    faults = []
    for number, row in enumerate(rows):
        report(number, len(rows), row["name"])
        asked = Asked(foot_read(row["foot"]), row["foot"], style, inputs["values"], {})
        try:
            sets.append((number, drafted(asked).pieces))
        except PatternError as error:
            if number == 0:
                raise
            faults.append({"foot": number, "text": error.text})
    return {
        "feet": [row["name"] for row in rows],
        "faults": faults,
        "pieces": _nested(sets),
    }


def _nested(sets: Sequence[tuple[int, PieceSet]]) -> list[dict[str, Any]]:
    first_number, first = sets[0]
    found = []
    for piece in first.pieces:
        outlines = [_outline(first_number, piece.net_mm)]
        for number, other in sets[1:]:
            same = next((each for each in other.pieces if each.name == piece.name), None)
            if same is None:
                continue
            off = piece_difference(piece, same)
            outlines.append(
                _outline(number, off.moved_mm)
                | {
                    "most_mm": round(off.most_mm, PLACES),
                    "mean_mm": round(off.mean_mm, PLACES),
                    "longer_mm": round(off.longer_mm, PLACES),
                }
            )
        found.append({"name": piece.name, "material": piece.material, "outlines": outlines})
    return found


def _outline(number: int, ring: Ring) -> dict[str, Any]:
    points = [[round(x, PLACES), round(y, PLACES)] for x, y in ring]
    return {"foot": number, "ring": points, "most_mm": 0.0, "mean_mm": 0.0, "longer_mm": 0.0}
