"""Write pattern pieces as DXF: millimetres, one layer a kind of line, the same bytes each time."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from io import StringIO

import ezdxf
from ezdxf.document import Drawing as DxfDocument
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from patterns.drawing.drawing import Turn, box_round
from patterns.drawing.packing import pack_boxes
from patterns.drawing.pieces import count_words, face_words
from patterns.pieces.piece import Line, Piece, PieceSet, Point, Ring

INSUNITS_MM = 4  # DXF Reference, HEADER section, $INSUNITS: 4 is millimetres
PIECE_GAP_MM = 12.0  # room for three lines of words below a piece
TEXT_HEIGHT_MM = 3.0

# Layer, colour number, line type, line weight in hundredths of a millimetre. Widths are of the
# pens of ISO 128-2:2022, wide to narrow 2:1.
_LAYERS = (
    ("CUT", 7, "CONTINUOUS", 50),
    ("NET", 8, "CONTINUOUS", 25),
    ("FOLD", 7, "DASHDOT", 25),
    ("STITCH", 1, "DASHED", 25),
    ("MARK", 7, "CONTINUOUS", 25),
    ("TIGHT_WAY", 5, "CONTINUOUS", 25),
    ("HOLES", 7, "CONTINUOUS", 25),
    ("WORDS", 7, "CONTINUOUS", 25),
)
_LINE_LAYERS = {"fold": "FOLD", "stitch": "STITCH", "mark": "MARK", "tight way": "TIGHT_WAY"}


def pieces_dxf(piece_set: PieceSet) -> bytes:
    """Return the pieces, side by side at true size, as a DXF file of AutoCAD 2010 level.

    Outlines are closed LWPOLYLINEs and holes CIRCLEs; each piece has its name, count and face as
    TEXT. ``$INSUNITS`` says millimetres. No clock or random id goes in, so the same pieces give
    the same bytes.
    """
    with _no_clock():
        document = new("R2010", setup=["linetypes"], units=INSUNITS_MM)
        _draw(document, piece_set)
        return _written(document)


def _draw(document: DxfDocument, piece_set: PieceSet) -> None:
    for name, colour, line_type, weight in _LAYERS:
        layer = document.layers.add(name, color=colour, linetype=line_type)
        layer.dxf.lineweight = weight
    space = document.modelspace()
    for piece, move in _laid_out(piece_set.pieces):
        _add_piece(space, piece, move, piece_set)


def _laid_out(pieces: tuple[Piece, ...]) -> Iterable[tuple[Piece, Turn]]:
    """Return each piece with the move that keeps it clear of the others."""
    boxes = [box_round(piece.cut_mm) for piece in pieces]
    sizes = [(box.width_mm, box.height_mm) for box in boxes]
    area = sum((w + PIECE_GAP_MM) * (h + PIECE_GAP_MM) for w, h in sizes)
    across = max((area * 1.5) ** 0.5, *(w for w, _ in sizes), 1.0)
    deep = sum(h + PIECE_GAP_MM for _, h in sizes) + 1.0
    packed = pack_boxes(sizes, [(across, deep)], gap_mm=PIECE_GAP_MM, may_turn=False)
    for spot in sorted(packed, key=lambda spot: spot.index):
        box = boxes[spot.index]
        yield pieces[spot.index], Turn(spot.x_mm - box.left_mm, spot.y_mm - box.bottom_mm)


def _add_piece(space: Modelspace, piece: Piece, move: Turn, piece_set: PieceSet) -> None:
    _add_ring(space, piece.cut_mm, move, "CUT")
    if piece.net_mm != piece.cut_mm:
        _add_ring(space, piece.net_mm, move, "NET")
    for line in piece.lines:
        _add_line(space, line, move)
    for hole in piece.holes:
        centre = move((hole.x_mm, hole.y_mm))
        space.add_circle(centre, hole.diameter_mm / 2, dxfattribs={"layer": "HOLES"})
    box = box_round(piece.cut_mm)
    texts = (piece.name, count_words(piece, piece_set.foot_side), face_words(piece))
    for row, text in enumerate(texts):
        corner = move((box.left_mm, box.bottom_mm))
        below = (corner[0], corner[1] - (row + 1) * TEXT_HEIGHT_MM)
        space.add_text(
            _one_line(text),
            height=TEXT_HEIGHT_MM * 0.8,
            dxfattribs={"layer": "WORDS", "insert": below},
        )


def _one_line(text: str) -> str:
    """Return the text with no line break in it, and no caret, which DXF reads as a code."""
    return " ".join(text.replace("^", " ").split())


def _add_ring(space: Modelspace, ring: Ring, move: Turn, layer: str) -> None:
    space.add_lwpolyline(_moved(ring, move), close=True, dxfattribs={"layer": layer})


def _add_line(space: Modelspace, line: Line, move: Turn) -> None:
    layer = _LINE_LAYERS[line.kind]
    space.add_lwpolyline(_moved(line.points_mm, move), dxfattribs={"layer": layer})


def _moved(points: Iterable[Point], move: Turn) -> list[Point]:
    return [move(point) for point in points]


def _written(document: DxfDocument) -> bytes:
    # Else the writer declares the classes in use in the order of a set: another one each process.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


@contextmanager
def _no_clock() -> Iterator[None]:
    """Hold date, version mark and random ids still, which ezdxf offers as an option."""
    options = ezdxf.options  # type: ignore[attr-defined]  # public, but not re-exported
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
