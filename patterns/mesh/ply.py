"""PLY, as text or binary in either byte order, to points and triangles."""

import struct
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from patterns.mesh.foot_mesh import (
    BYTES_MOST,
    COORDINATE_MOST_MM,
    TRIANGLES_MOST,
    FloatArray,
    IntArray,
    mesh_fault,
)

# Names of number types, old and new, and the letters numpy and struct use for them.
KINDS = {
    "char": "b", "int8": "b", "uchar": "B", "uint8": "B", "short": "h", "int16": "h",
    "ushort": "H", "uint16": "H", "int": "i", "int32": "i", "uint": "I", "uint32": "I",
    "float": "f", "float32": "f", "double": "d", "float64": "d",
}  # fmt: skip
ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
HEADER_MOST_BYTES = 20_000
CORNER_NAMES = ("vertex_indices", "vertex_index")


@dataclass(frozen=True, slots=True)
class _Property:
    name: str
    kind: str
    count_kind: str | None = None  # of a list


@dataclass(frozen=True, slots=True)
class _Element:
    name: str
    count: int
    properties: tuple[_Property, ...]

    @property
    def is_plain(self) -> bool:
        """Return whether every row is of one size: no lists."""
        return all(each.count_kind is None for each in self.properties)


def ply_arrays(content: bytes, unit_mm: float) -> tuple[FloatArray, IntArray]:
    """Return points in mm and triangles of a PLY file; polygons are fanned into triangles.

    Raises
    ------
    FootError
        A header that cannot be followed, a file cut short, a corner that is not there, a figure
        that is no number, or too many triangles.
    """
    order, elements, body = _header(content)
    counts = {element.name: element.count for element in elements}
    if counts.get("face", 0) > TRIANGLES_MOST:
        raise mesh_fault(
            "mesh-triangles",
            f"has {counts['face']} faces; {TRIANGLES_MOST} triangles are the most, thin it out",
            most=TRIANGLES_MOST,
        )
    read = _text_elements if order == "" else _binary_elements
    try:
        points, corners = read(body, elements, order)
    except (struct.error, IndexError, StopIteration, RuntimeError):
        raise mesh_fault(
            "mesh-truncated",
            "ends before all its points and faces are told: the file is cut short; save it again",
        ) from None
    except (ValueError, OverflowError) as error:
        if getattr(error, "code", ""):
            raise
        raise mesh_fault("mesh-line", "holds a figure that is no number; save it again") from None
    return _checked(points * unit_mm, corners)


def _checked(points: FloatArray, corners: IntArray) -> tuple[FloatArray, IntArray]:
    bad = ~(np.abs(points) < COORDINATE_MOST_MM).all(axis=1)
    if bad.any():
        number = int(bad.argmax()) + 1
        raise mesh_fault(
            "mesh-not-finite",
            f"has a point, number {number}, that is not a place in space; save it again",
        )
    if len(corners) > TRIANGLES_MOST:
        raise mesh_fault(
            "mesh-triangles",
            f"has {len(corners)} triangles; {TRIANGLES_MOST} are the most, thin it out",
            most=TRIANGLES_MOST,
        )
    if corners.size and (corners.min() < 0 or corners.max() >= len(points)):
        raise mesh_fault(
            "mesh-line", f"has a face with a corner that is none of its {len(points)} points"
        )
    return points, corners


# --- the header ----------------------------------------------------------------------------


def _header(content: bytes) -> tuple[str, tuple[_Element, ...], bytes]:
    """Return the byte order ("" for text), what the file holds in turn, and its body."""
    head = content[:HEADER_MOST_BYTES]
    end = head.find(b"end_header")
    line_end = head.find(b"\n", end)
    if not head.startswith(b"ply") or end < 0 or line_end < 0:
        raise mesh_fault("mesh-header", 'does not begin as a PLY file, with "ply" to "end_header"')
    order: str | None = None
    elements: list[_Element] = []
    for line in head[:end].decode("ascii", errors="replace").splitlines()[1:]:
        words = line.split()
        try:
            if not words or words[0] in ("comment", "obj_info"):
                continue
            if words[0] == "format":
                order = ORDERS[words[1]]
            elif words[0] == "element":
                elements.append(_element(words))
            elif words[0] == "property":
                last = elements[-1]
                elements[-1] = _Element(last.name, last.count, (*last.properties, _property(words)))
            else:
                raise ValueError(words[0])
        except (KeyError, IndexError, ValueError):
            raise mesh_fault("mesh-header", f"has a header line not known: {line[:40]!r}") from None
    if order is None or not {"vertex", "face"} <= {element.name for element in elements}:
        raise mesh_fault("mesh-empty", "tells of no faces in its header; save it with its faces")
    return order, tuple(elements), content[line_end + 1 :]


def _element(words: Sequence[str]) -> _Element:
    count = int(words[2])
    if not 0 <= count <= BYTES_MOST:
        raise ValueError(words)
    return _Element(words[1], count, ())


def _property(words: Sequence[str]) -> _Property:
    if words[1] != "list":
        return _Property(words[2], KINDS[words[1]])
    if KINDS[words[2]] in "fd" or (KINDS[words[3]] in "fd" and words[4] in CORNER_NAMES):
        raise ValueError(words)
    return _Property(words[4], KINDS[words[3]], KINDS[words[2]])


# --- text ----------------------------------------------------------------------------------


def _text_elements(
    body: bytes, elements: Sequence[_Element], _order: str
) -> tuple[FloatArray, IntArray]:
    lines = iter(line for line in body.splitlines() if line.strip())
    points, corners = np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    for element in elements:
        rows = [next(lines) for _ in range(element.count)]
        if element.name == "vertex":
            points = _text_table(rows)[:, _columns(element)]
        elif element.name == "face":
            corners = _text_faces(rows, element)
    return points, corners


def _text_table(rows: Sequence[bytes]) -> FloatArray:
    """Return rows of equally many figures; ValueError if they are not."""
    text = [row.decode("ascii", errors="replace") for row in rows]
    return np.loadtxt(text, dtype=np.float64, comments=None, ndmin=2) if text else np.zeros((0, 3))


def _text_faces(rows: Sequence[bytes], element: _Element) -> IntArray:
    """Return the triangles of the faces; at once if all are triangles and nothing else."""
    if len(element.properties) == 1 and all(row.startswith(b"3 ") for row in rows):
        try:
            table = _text_table(rows)
        except ValueError:
            table = np.zeros((0, 0))
        if table.shape[1] == 4 and (table == np.rint(table)).all():
            return table[:, 1:].astype(np.int64)
    return _fanned(_text_corners([row.split() for row in rows], element))


def _text_corners(rows: Sequence[Sequence[bytes]], element: _Element) -> Iterator[tuple[int, ...]]:
    for row in rows:
        place = 0
        for each in element.properties:
            length = int(row[place]) if each.count_kind else 1
            start = place + (1 if each.count_kind else 0)
            if length < 0 or start + length > len(row):
                raise IndexError(length)
            if each.name in CORNER_NAMES:
                yield tuple(int(word) for word in row[start : start + length])
            place = start + length


# --- binary --------------------------------------------------------------------------------


def _binary_elements(
    body: bytes, elements: Sequence[_Element], order: str
) -> tuple[FloatArray, IntArray]:
    points, corners = np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    place = 0
    for element in elements:
        if element.name == "face":
            corners, place = _binary_faces(body, place, element, order)
        elif element.is_plain:
            rows, place = _rows(body, place, element, order)
            if element.name == "vertex":
                names = [element.properties[k].name for k in _columns(element)]
                with np.errstate(invalid="ignore"):  # what is no number is refused later
                    points = np.column_stack([rows[name].astype(np.float64) for name in names])
        else:
            place = _passed_over(body, place, element, order)
    return points, corners


def _rows(
    body: bytes, place: int, element: _Element, order: str
) -> tuple[np.ndarray[tuple[int], np.dtype[np.void]], int]:
    kind = np.dtype([(each.name, order + each.kind) for each in element.properties])
    end = place + kind.itemsize * element.count
    if end > len(body):
        raise IndexError(end)
    return np.frombuffer(body, dtype=kind, count=element.count, offset=place), end


def _binary_faces(body: bytes, place: int, element: _Element, order: str) -> tuple[IntArray, int]:
    """Return the triangles of the faces and where they end; at once if all are triangles."""
    only = element.properties[0] if len(element.properties) == 1 else None
    if only is not None and only.count_kind and only.name in CORNER_NAMES:
        kind = np.dtype([("count", order + only.count_kind), ("corners", order + only.kind, 3)])
        end = place + kind.itemsize * element.count
        if end <= len(body):
            rows = np.frombuffer(body, dtype=kind, count=element.count, offset=place)
            if (rows["count"] == 3).all():
                return rows["corners"].astype(np.int64).reshape(-1, 3), end
    faces: list[tuple[int, ...]] = []
    for _ in range(element.count):
        row, place = _row(body, place, element, order)
        faces += [values for name, values in row if name in CORNER_NAMES]
    return _fanned(iter(faces)), place


def _passed_over(body: bytes, place: int, element: _Element, order: str) -> int:
    for _ in range(element.count):
        place = _row(body, place, element, order)[1]
    return place


def _row(
    body: bytes, place: int, element: _Element, order: str
) -> tuple[list[tuple[str, tuple[int, ...]]], int]:
    """Return the name and values of each property of one row, and where the next row begins."""
    row = []
    for each in element.properties:
        length = 1
        if each.count_kind:
            (length,) = struct.unpack_from(order + each.count_kind, body, place)
            place += struct.calcsize(each.count_kind)
            if not 0 <= length <= len(body) - place:
                raise IndexError(length)
        values = struct.unpack_from(f"{order}{length}{each.kind}", body, place)
        place += struct.calcsize(f"={length}{each.kind}")
        row.append((each.name, values))
    return row, place


# --- both ----------------------------------------------------------------------------------


def _columns(element: _Element) -> list[int]:
    names = [each.name for each in element.properties]
    if not element.is_plain or not {"x", "y", "z"} <= set(names) or len(set(names)) < len(names):
        raise mesh_fault("mesh-header", "does not tell x, y and z of its points")
    return [names.index(axis) for axis in "xyz"]


def _fanned(faces: Iterator[tuple[int, ...]]) -> IntArray:
    corners = array("q")
    for face in faces:
        if len(face) < 3:
            raise mesh_fault("mesh-line", "has a face of fewer than three corners")
        if len(corners) // 3 + len(face) - 2 > TRIANGLES_MOST:
            raise mesh_fault(
                "mesh-triangles",
                f"has more than {TRIANGLES_MOST} triangles; thin it out",
                most=TRIANGLES_MOST,
            )
        for k in range(1, len(face) - 1):
            corners.extend((face[0], face[k], face[k + 1]))
    return np.array(corners, dtype=np.int64).reshape(-1, 3)
