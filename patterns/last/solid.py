"""The last as a closed body, for a printer or a mould: STL and OBJ in mm."""

from dataclasses import replace

import numpy as np

from patterns.last.last import FloatArray, IntArray, Last

MM_DIGITS = 4  # of the text file; a tenth of a micrometre
STL_HEADER_BYTES = 80


def mirrored_last(last: Last) -> Last:
    """Return the last of the other foot: y mirrored, its outer side still the outer side."""
    return replace(
        last,
        grid_mm=last.grid_mm * np.array([1.0, -1.0, 1.0]),
        lateral_sign=-last.lateral_sign,
    )


def last_words(last: Last) -> str:
    """Return what a file of a last says of itself: unit, foot, and whether a wrap is in it."""
    foot = "left" if last.lateral_sign > 0 else "right"
    wrap = (
        f"wrap of {last.thickness_mm:.2f} mm included" if last.thickness_mm > 0 else "bare, no wrap"
    )
    return f"last {foot} foot {last.foot_length_mm:.1f} mm; unit mm; {wrap}"


def last_stl(last: Last) -> bytes:
    """Return the last as binary STL in mm, watertight, flat at the top of the shaft.

    The header says what `last_words` says; STL itself has no unit.
    """
    points, triangles = closed_triangles(last)
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    record = np.zeros(
        len(triangles),
        dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("kept", "<u2")],
    )
    record["normal"] = normals / np.where(length > 0.0, length, 1.0)
    record["corners"] = corners
    header = last_words(last).encode("ascii", errors="replace")[:STL_HEADER_BYTES]
    count = len(triangles).to_bytes(4, "little")
    return header.ljust(STL_HEADER_BYTES, b" ") + count + record.tobytes()


def last_obj(last: Last) -> bytes:
    """Return the last as OBJ text in mm, watertight, flat at the top of the shaft."""
    points, triangles = closed_triangles(last)
    lines = [f"# {last_words(last)}", "o last"]
    lines += [
        f"v {x:.{MM_DIGITS}f} {y:.{MM_DIGITS}f} {z:.{MM_DIGITS}f}" for x, y, z in points.tolist()
    ]
    lines += [f"f {a} {b} {c}" for a, b, c in (triangles + 1).tolist()]
    return ("\n".join(lines) + "\n").encode("ascii")


def closed_triangles(last: Last) -> tuple[FloatArray, IntArray]:
    """Return points and triangles of the last with its shaft closed by a flat top.

    Returns
    -------
    (array of shape (n, 3), array of shape (m, 3))
        The last point is the middle of the top; triangles run counter-clockwise from outside.
    """
    points = last.points_mm
    rim = np.arange(len(points) - last.turn_count, len(points))
    middle = points[rim].mean(axis=0)
    beside = np.roll(rim, -1)
    cap = np.column_stack([beside, rim, np.full(len(rim), len(points))])
    if last.lateral_sign < 0:
        cap = cap[:, ::-1]
    return np.vstack([points, middle]), np.vstack([last.triangles, cap]).astype(np.int64)
