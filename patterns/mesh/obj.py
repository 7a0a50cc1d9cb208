"""OBJ text to points and triangles."""

from array import array
from collections.abc import Sequence
from math import isfinite

import numpy as np

from patterns.mesh.foot_mesh import (
    COORDINATE_MOST_MM,
    TRIANGLES_MOST,
    FloatArray,
    IntArray,
    mesh_fault,
)


def obj_arrays(text: str, unit_mm: float) -> tuple[FloatArray, IntArray]:
    """Return points in mm and triangles of an OBJ text; polygons are fanned into triangles.

    Lines ``v x y z`` and ``f i j k ...`` are read, everything else is passed over.

    Raises
    ------
    FootError
        A line that cannot be read (its number is told), or too many triangles.
    """
    points, corners = array("d"), array("q")
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            if line.startswith("v ") or line.startswith("v\t"):
                points.extend(_point(line.split(), unit_mm))
            elif line.startswith("f ") or line.startswith("f\t"):
                words = line.split()
                if len(corners) // 3 + len(words) - 3 > TRIANGLES_MOST:
                    raise mesh_fault(
                        "mesh-triangles",
                        f"has more than {TRIANGLES_MOST} triangles; thin it out",
                        most=TRIANGLES_MOST,
                    )
                corners.extend(_fan(words, len(points) // 3))
        except (ValueError, OverflowError) as error:
            if getattr(error, "code", ""):
                raise
            raise mesh_fault(
                "mesh-line", f"cannot be read in line {number}: {line[:40]!r}", line=number
            ) from None
    return (
        np.frombuffer(points, dtype=np.float64).reshape(-1, 3),
        np.frombuffer(corners, dtype=np.int64).reshape(-1, 3),
    )


def _point(words: Sequence[str], unit_mm: float) -> tuple[float, float, float]:
    if len(words) < 4:
        raise ValueError(words)
    x, y, z = float(words[1]) * unit_mm, float(words[2]) * unit_mm, float(words[3]) * unit_mm
    if not (isfinite(x + y + z) and max(abs(x), abs(y), abs(z)) < COORDINATE_MOST_MM):
        raise ValueError(words)
    return x, y, z


def _fan(words: Sequence[str], point_count: int) -> list[int]:
    """Return the corners of the triangles a face is parted into, three by three."""
    found = []
    for word in words[1:]:
        index = int(word.split("/", 1)[0])
        index = index - 1 if index > 0 else point_count + index
        if not 0 <= index < point_count:
            raise ValueError(word)
        found.append(index)
    if len(found) == 3:
        return found
    if len(found) < 3:
        raise ValueError(words)
    first = found[0]
    return [i for k in range(1, len(found) - 1) for i in (first, found[k], found[k + 1])]
