"""Cutting sheets read back by two independent PDF readers and held against the pieces' own file."""

import json
from datetime import date
from io import BytesIO

import pypdf
import pytest
from pypdf.generic import ContentStream
from shapely import affinity
from shapely.geometry import LinearRing, Polygon

from patterns.drawing.drawing import Drawing, Stroke
from patterns.drawing.paper import FOOTER_MM, HEADER_MM, MARGIN_MM
from patterns.drawing.sheets import tiled_pdf
from patterns.drawing.tiling import OVERLAP_MM
from patterns.exchange.pieces_file import document_from_pieces
from tests.patterns.samples_drafts import cut
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.documents.heading import SheetHeading

pytestmark = [pytest.mark.external, pytest.mark.paper]

DAY = date(2026, 3, 14)
MM_PER_POINT = 25.4 / 72.0  # ISO 32000-1, 8.3.2.3
WITHIN_MM = 0.05
CUT_PEN = (0.49, 0.51)  # wide continuous line, ISO 128-2:2022


def times(inner, outer):
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j,
            e * g + f * i + k, e * h + f * j + m)  # fmt: skip


def strokes_of(stream, resources, reader, matrix):
    """Yield every stroked path of a content stream in page millimetres: points, closed, width."""
    stack, width, paths, path = [], 0.0, [], []
    for operands, operator in ContentStream(stream, reader).operations:
        numbers = [float(v) for v in operands] if operator in (b"cm", b"m", b"l", b"w") else []
        if operator == b"q":
            stack.append((matrix, width))
        elif operator == b"Q":
            matrix, width = stack.pop()
        elif operator == b"cm":
            matrix = times(tuple(numbers), matrix)
        elif operator == b"w":
            width = numbers[0]
        elif operator == b"m":
            path = [numbers]
            paths.append(path)
        elif operator == b"l":
            path.append(numbers)
        elif operator in (b"S", b"s"):
            scale = (matrix[0] ** 2 + matrix[1] ** 2) ** 0.5 * MM_PER_POINT
            for found in paths:
                points = [
                    tuple(
                        MM_PER_POINT * (matrix[k] * x + matrix[k + 2] * y + matrix[k + 4])
                        for k in (0, 1)
                    )
                    for x, y in found
                ]
                yield points, operator == b"s", width * scale
            paths = []
        elif operator in (b"n", b"f", b"f*"):
            paths = []
        elif operator == b"Do":
            form = resources["/XObject"][operands[0]].get_object()
            inner = form.get("/Matrix", (1, 0, 0, 1, 0, 0))
            yield from strokes_of(
                form,
                form.get("/Resources", {}),
                reader,
                times(tuple(float(v) for v in inner), matrix),
            )


def rings_by_pypdf(data):
    reader = pypdf.PdfReader(BytesIO(data))
    pages = []
    for page in reader.pages:
        found = strokes_of(page.get_contents(), page["/Resources"], reader, (1, 0, 0, 1, 0, 0))
        pages.append(
            [
                points
                for points, closed, width in found
                if closed and CUT_PEN[0] < width < CUT_PEN[1]
            ]
        )
    return pages


def rings_by_pdfium(data):
    return [
        [
            path.points_mm
            for path in page
            if path.closed and not path.filled and CUT_PEN[0] < path.width_mm < CUT_PEN[1]
        ]
        for page in drawn_paths(data)
    ]


READERS = {"pdfium": rings_by_pdfium, "pypdf": rings_by_pypdf}


@pytest.fixture(scope="module", params=["A4", "Letter"])
def sheet(request):
    pieces = cut(style="tall-lace-up-boot")
    return pieces, cutting_sheet_pdf(
        pieces, heading=SheetHeading(style="Tall boot"), made_on=DAY, paper=request.param
    )


def apart_mm(ring, outline):
    """Return the least Hausdorff distance of two outlines, moved and turned by quarters."""
    drawn = LinearRing(ring)
    least = float("inf")
    for quarter in range(4):
        turned = affinity.rotate(LinearRing(outline), 90 * quarter, origin=(0, 0))
        dx = drawn.bounds[0] - turned.bounds[0]
        dy = drawn.bounds[1] - turned.bounds[1]
        least = min(least, drawn.hausdorff_distance(affinity.translate(turned, dx, dy)))
    return least


@pytest.mark.parametrize("reader", READERS)
def test_every_cut_outline_is_that_of_the_pieces_file(sheet, reader):
    pieces, data = sheet
    document = json.loads(json.dumps(document_from_pieces(pieces)))
    rings = [ring for page in READERS[reader](data) for ring in page]
    for piece in document["pieces"]:
        outline = piece["cut"]
        length = LinearRing(outline).length
        alike = [ring for ring in rings if abs(LinearRing(ring).length - length) < 1.0]
        assert alike, piece["name"]
        assert min(apart_mm(ring, outline) for ring in alike) <= WITHIN_MM, piece["name"]


def test_both_readers_find_as_many_outlines(sheet):
    _pieces, data = sheet
    counts = [[len(page) for page in read(data)] for read in READERS.values()]
    assert counts[0] == counts[1]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_tiles_laid_on_each_other_show_one_outline(paper):
    """The piece of a long shaft over several sheets: neighbours differ by a plain move."""
    ring = tuple(Polygon([(0, 0), (380, 30), (430, 560), (200, 640), (-20, 500)]).exterior.coords)
    drawing = Drawing((Stroke(ring[:-1], "cut", closed=True),))
    data = tiled_pdf([drawing], paper=paper, title="t", made_on=DAY)
    for read in READERS.values():
        pages = read(data)
        assert len(pages) > 3
        (first,) = pages[0]
        moves = set()
        for page in pages:
            (found,) = page
            dx, dy = found[0][0] - first[0][0], found[0][1] - first[0][1]
            for (x, y), (u, v) in zip(found, first, strict=True):
                assert abs(x - u - dx) <= WITHIN_MM
                assert abs(y - v - dy) <= WITHIN_MM
            moves.add((round(dx, 2), round(dy, 2)))
        # Each sheet shows another part, and a step is a sheet's room less the overlap.
        assert len(moves) == len(pages)
        width, height = page_sizes_mm(data)[0]
        room = sorted((width - 2 * MARGIN_MM, height - 2 * MARGIN_MM - HEADER_MM - FOOTER_MM))
        steps = {round(abs(dx), 1) for dx, _ in moves} | {round(abs(dy), 1) for _, dy in moves}
        least = min(step for step in steps if step > 1.0)
        assert any(least == pytest.approx(side - OVERLAP_MM, abs=0.1) for side in room)


def test_nothing_is_inked_within_the_stated_margin(sheet):
    _pieces, data = sheet
    for number, (width, height) in enumerate(page_sizes_mm(data)):
        left, bottom, right, top = inked_box_mm(data, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= MARGIN_MM - 0.101
