"""Read a PDF back: every drawn line in page millimetres, with its width, and the text."""

import ctypes
from dataclasses import dataclass

import pypdfium2 as pdfium
import pypdfium2.raw as raw

MM_PER_POINT = 25.4 / 72.0

Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class DrawnPath:
    points_mm: tuple[tuple[float, float], ...]
    closed: bool
    width_mm: float
    filled: bool


def _times(inner: Matrix, outer: Matrix) -> Matrix:
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j,
            e * g + f * i + k, e * h + f * j + m)  # fmt: skip


def _matrix(handle) -> Matrix:
    m = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(handle, m)
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def _paths(handle, outer: Matrix):
    matrix = _times(_matrix(handle), outer)
    kind = raw.FPDFPageObj_GetType(handle)
    if kind == raw.FPDF_PAGEOBJ_FORM:
        for k in range(raw.FPDFFormObj_CountObjects(handle)):
            yield from _paths(raw.FPDFFormObj_GetObject(handle, k), matrix)
    elif kind == raw.FPDF_PAGEOBJ_PATH:
        yield from _subpaths(handle, matrix)


def _subpaths(handle, matrix: Matrix):
    width = ctypes.c_float()
    raw.FPDFPageObj_GetStrokeWidth(handle, width)
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(handle, fill, stroke)
    scale = (matrix[0] ** 2 + matrix[1] ** 2) ** 0.5
    points, closed = [], False
    for k in range(raw.FPDFPath_CountSegments(handle)):
        segment = raw.FPDFPath_GetPathSegment(handle, k)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        px = matrix[0] * x.value + matrix[2] * y.value + matrix[4]
        py = matrix[1] * x.value + matrix[3] * y.value + matrix[5]
        points.append((px * MM_PER_POINT, py * MM_PER_POINT))
        closed = closed or bool(raw.FPDFPathSegment_GetClose(segment))
    line = width.value * scale * MM_PER_POINT if stroke.value else 0.0
    yield DrawnPath(tuple(points), closed, line, bool(fill.value))


def drawn_paths(data: bytes) -> list[list[DrawnPath]]:
    """Return the paths of each page."""
    document = pdfium.PdfDocument(data)
    pages = []
    for page in document:
        found = []
        for k in range(raw.FPDFPage_CountObjects(page)):
            found.extend(_paths(raw.FPDFPage_GetObject(page, k), (1, 0, 0, 1, 0, 0)))
        pages.append(found)
    return pages


def page_sizes_mm(data: bytes) -> list[tuple[float, float]]:
    document = pdfium.PdfDocument(data)
    return [(w * MM_PER_POINT, h * MM_PER_POINT) for w, h in (p.get_size() for p in document)]


def page_texts(data: bytes) -> list[str]:
    document = pdfium.PdfDocument(data)
    return [page.get_textpage().get_text_range() for page in document]


def inked_box_mm(data: bytes, number: int, *, dpi: float = 144.0):
    """Return the box round everything that leaves a mark on a page, in mm from its lower left."""
    page = pdfium.PdfDocument(data)[number]
    image = page.render(scale=dpi / 72.0, grayscale=True).to_pil()
    left, top, right, bottom = image.point(lambda v: 255 if v < 250 else 0).getbbox()
    mm = 25.4 / dpi
    return left * mm, (image.height - bottom) * mm, right * mm, (image.height - top) * mm
