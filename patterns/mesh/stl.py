"""STL, binary or text, to points and triangles."""

import re

import numpy as np

from patterns.mesh.foot_mesh import (
    COORDINATE_MOST_MM,
    TRIANGLES_MOST,
    FloatArray,
    IntArray,
    mesh_fault,
)

HEADER_BYTES = 84  # 80 of text, then the number of triangles
TRIANGLE_BYTES = 50
_VERTEX = re.compile(rb"\bvertex[ \t]+(\S+)[ \t]+(\S+)[ \t]+(\S+)", re.IGNORECASE)
_FACET = re.compile(rb"\bendfacet\b", re.IGNORECASE)
_END = re.compile(rb"\bendsolid\b", re.IGNORECASE)


def stl_arrays(content: bytes, unit_mm: float) -> tuple[FloatArray, IntArray]:
    """Return points in mm and triangles of an STL file; every triangle has points of its own.

    A file is binary when its length is what its number of triangles asks for, whatever its first
    word: many binary files begin with "solid" too.

    Raises
    ------
    FootError
        Cut short, a figure that is no number, or too many triangles.
    """
    told = int.from_bytes(content[80:HEADER_BYTES], "little") if len(content) >= 84 else -1
    if told >= 0 and len(content) == HEADER_BYTES + TRIANGLE_BYTES * told:
        points = _binary_points(content, told)
    elif content[:2000].lstrip()[:5].lower() == b"solid":
        points = _text_points(content)
    else:
        points = _binary_points(content, told)
    points = points * unit_mm
    # Not less than: a NaN fails as well.
    bad = ~(np.abs(points) < COORDINATE_MOST_MM).all(axis=1)
    if bad.any():
        number = int(bad.argmax()) // 3 + 1
        raise mesh_fault(
            "mesh-not-finite",
            f"has a corner of triangle {number} that is not a place in space; save it again",
            triangle=number,
        )
    return points, np.arange(len(points), dtype=np.int64).reshape(-1, 3)


def _binary_points(content: bytes, told: int) -> FloatArray:
    if told > TRIANGLES_MOST:
        _too_many(told)
    if told < 0 or len(content) < HEADER_BYTES + TRIANGLE_BYTES * told:
        held = max(0, len(content) - HEADER_BYTES) // TRIANGLE_BYTES
        told_words = f"says {told} triangles but " if told >= 0 else ""
        raise mesh_fault(
            "mesh-truncated",
            f"{told_words}holds {held}: the file is cut short or no STL; save it again",
        )
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("kept", "<u2")])
    triangles = np.frombuffer(content, dtype=record, count=told, offset=HEADER_BYTES)
    return np.asarray(triangles["corners"], dtype=np.float64).reshape(-1, 3)


def _text_points(content: bytes) -> FloatArray:
    found = _VERTEX.findall(content)
    facets = len(_FACET.findall(content))
    if facets > TRIANGLES_MOST:
        _too_many(facets)
    if len(found) != 3 * facets or not _END.search(content[-2000:]):
        raise mesh_fault(
            "mesh-truncated",
            f"holds {len(found)} corners for {facets} whole triangles or lacks its last line: the"
            " file is cut short or a triangle has not three corners; save it again",
        )
    if not found:
        raise mesh_fault("mesh-empty", "holds no triangles; save it with its faces")
    try:
        return np.array(found).astype(np.float64)
    except ValueError:
        number = next(k for k, words in enumerate(found) if not _are_numbers(words))
        words = b" ".join(found[number]).decode("ascii", errors="replace")[:60]
        raise mesh_fault(
            "mesh-line", f"cannot be read in triangle {number // 3 + 1}: {words!r}"
        ) from None


def _are_numbers(words: tuple[bytes, ...]) -> bool:
    try:
        return all(float(word) is not None for word in words)
    except ValueError:
        return False


def _too_many(count: int) -> None:
    raise mesh_fault(
        "mesh-triangles",
        f"has {count} triangles; {TRIANGLES_MOST} are the most, thin it out",
        count=count,
        most=TRIANGLES_MOST,
    )
