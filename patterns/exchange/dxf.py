"""Write pieces and layouts as DXF: millimetres, a layer for each kind of line."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from io import StringIO

import ezdxf
from ezdxf.document import Drawing as DxfDocument
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from patterns.drawing.drawing import box_round
from patterns.exchange.outline_sheet import LaidPiece, OutlineSheet, sheet_of_pieces
from patterns.pieces.piece import PieceSet, Ring

INSUNITS_MM = 4  # DXF Reference, HEADER section, $INSUNITS: 4 is millimetres
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
    ("HIDE", 7, "CONTINUOUS", 50),
    ("DEFECT", 1, "CONTINUOUS", 25),
)
_LINE_LAYERS = {"fold": "FOLD", "stitch": "STITCH", "mark": "MARK", "tight way": "TIGHT_WAY"}


def pieces_dxf(piece_set: PieceSet) -> bytes:
    """Return the pieces, side by side at true size, mirrored copies drawn too; see `sheet_dxf`."""
    return sheet_dxf(sheet_of_pieces(piece_set))


def sheet_dxf(sheet: OutlineSheet) -> bytes:
    """Return a sheet as a DXF file of AutoCAD 2010 level.

    Outlines are closed LWPOLYLINEs and holes CIRCLEs; each piece has its words as TEXT.
    ``$INSUNITS`` says millimetres. No clock or random id goes in, so the same sheet gives the
    same bytes.
    """
    with _no_clock():
        document = new("R2010", setup=["linetypes"], units=INSUNITS_MM)
        _draw(document, sheet)
        return _written(document)


def _draw(document: DxfDocument, sheet: OutlineSheet) -> None:
    for name, colour, line_type, weight in _LAYERS:
        layer = document.layers.add(name, color=colour, linetype=line_type)
        layer.dxf.lineweight = weight
    space = document.modelspace()
    for hide in sheet.hides:
        _add_ring(space, hide.outline_mm, "HIDE")
        for ring in hide.defects_mm:
            _add_ring(space, ring, "DEFECT")
        box = box_round(hide.outline_mm)
        _add_words(space, (hide.name,), box.left_mm, box.bottom_mm)
    for laid in sheet.pieces:
        _add_piece(space, laid)


def _add_piece(space: Modelspace, laid: LaidPiece) -> None:
    piece, turn = laid.piece, laid.turn
    cut = turn.many(piece.cut_mm)
    _add_ring(space, cut, "CUT")
    if piece.net_mm != piece.cut_mm:
        _add_ring(space, turn.many(piece.net_mm), "NET")
    for line in piece.lines:
        space.add_lwpolyline(
            turn.many(line.points_mm), dxfattribs={"layer": _LINE_LAYERS[line.kind]}
        )
    for hole in piece.holes:
        centre = turn((hole.x_mm, hole.y_mm))
        space.add_circle(centre, hole.diameter_mm / 2, dxfattribs={"layer": "HOLES"})
    box = box_round(cut)
    _add_words(space, laid.words, box.left_mm, box.bottom_mm)


def _add_words(space: Modelspace, lines: Iterable[str], x_mm: float, y_mm: float) -> None:
    """Write lines below a place, from the top down."""
    for row, text in enumerate(lines, start=1):
        space.add_text(
            _one_line(text),
            height=TEXT_HEIGHT_MM * 0.8,
            dxfattribs={"layer": "WORDS", "insert": (x_mm, y_mm - row * TEXT_HEIGHT_MM)},
        )


def _one_line(text: str) -> str:
    """Return the text with no line break in it, and no caret, which DXF reads as a code."""
    return " ".join(text.replace("^", " ").split())


def _add_ring(space: Modelspace, ring: Ring, layer: str) -> None:
    space.add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})


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
