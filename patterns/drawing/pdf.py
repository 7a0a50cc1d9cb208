"""Write Drawings as PDF pages at true scale, with our own fonts embedded."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from io import BytesIO

import pydyf
from fontTools import subset
from fontTools.ttLib import TTFont

from patterns.drawing.drawing import PENS, Box, Drawing, Fill, Stroke, Turn, Words
from patterns.drawing.fonts import Face, font_bytes, glyph_names, settable, units_per_em
from patterns.drawing.inks import FILL_COLOURS, INKS
from patterns.drawing.paper import MARGIN_MM
from patterns.pieces.piece import Point
from patterns.units import POINTS_PER_MM, mm_to_points

PRODUCER = "Doll Footwear Workshop"


@dataclass(frozen=True, slots=True)
class PagePart:
    """A drawing on a page: where its origin lies, and what of the page it may cover."""

    drawing: Drawing
    x_mm: float = 0.0
    y_mm: float = 0.0
    clip: Box | None = None


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of paper and what is drawn on it, the origin at its lower left corner.

    ``printed`` is what the printer makes of a millimetre along x and y; all inside the margin is
    drawn so much the other way, and the sizes are those that come out.
    """

    width_mm: float
    height_mm: float
    parts: tuple[PagePart, ...]
    printed: tuple[float, float] = (1.0, 1.0)


def pages_pdf(
    pages: Sequence[Page],
    *,
    title: str,
    made_on: date,
    language: str = "en",
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF of the pages; the same input gives the same bytes.

    A drawing shown on several pages is stored once as a form and drawn from there.

    Parameters
    ----------
    pages : sequence of Page
    title : str
        Shown by readers in place of the file name.
    made_on : date
        Date written into the file.
    language : str
        Language tag of the text, such as ``"en"``.
    document_id : bytes, optional
        First part of the file's /ID; left out, a hash of the contents.

    Notes
    -----
    PDF user space is 1/72 inch (ISO 32000-1, 8.3.2.3). ``/PrintScaling /None`` asks the print
    dialogue not to shrink the page (ISO 32000-1, table 150).
    """
    pdf = pydyf.PDF()
    fonts = _Fonts(pdf)
    forms = _Forms(pdf, fonts)
    for page in pages:
        _add_page(pdf, page, forms)
    fonts.embed()
    pdf.info["Title"] = pydyf.String(title)
    pdf.info["Producer"] = pydyf.String(PRODUCER)
    pdf.info["CreationDate"] = pydyf.String(f"D:{made_on:%Y%m%d}000000Z")
    pdf.catalog["Lang"] = pydyf.String(language)
    pdf.catalog["ViewerPreferences"] = pydyf.Dictionary(
        {"PrintScaling": "/None", "DisplayDocTitle": "true"}
    )
    output = BytesIO()
    pdf.write(output, identifier=document_id or True)
    return output.getvalue()


def _add_page(pdf: pydyf.PDF, page: Page, forms: "_Forms") -> None:
    content = pydyf.Stream(compress=True)
    content.set_matrix(POINTS_PER_MM, 0, 0, POINTS_PER_MM, 0, 0)
    across, up = (1.0 / makes for makes in page.printed)
    if (across, up) != (1.0, 1.0):
        content.set_matrix(across, 0, 0, up, MARGIN_MM * (1.0 - across), MARGIN_MM * (1.0 - up))
    used = pydyf.Dictionary()
    for part in page.parts:
        name, reference = forms.of(part.drawing)
        used[name] = reference
        content.push_state()
        if part.clip is not None:
            clip = part.clip
            content.rectangle(clip.left_mm, clip.bottom_mm, clip.width_mm, clip.height_mm)
            content.clip()
            content.end()
        content.set_matrix(1, 0, 0, 1, _rounded(part.x_mm), _rounded(part.y_mm))
        content.draw_x_object(name)
        content.pop_state()
    pdf.add_object(content)
    width = 2.0 * MARGIN_MM + (page.width_mm - 2.0 * MARGIN_MM) * across
    height = 2.0 * MARGIN_MM + (page.height_mm - 2.0 * MARGIN_MM) * up
    size = [0, 0, _rounded(mm_to_points(width)), _rounded(mm_to_points(height))]
    pdf.add_page(
        pydyf.Dictionary(
            {
                "Type": "/Page",
                "Parent": pdf.pages.reference,
                "MediaBox": pydyf.Array(size),
                "Contents": content.reference,
                "Resources": pydyf.Dictionary({"XObject": used}),
            }
        )
    )


def _rounded(value: float) -> float:
    """Return the value to a ten-thousandth, far finer than any printer."""
    return round(value, 4) + 0.0


class _Forms:
    """The drawings already stored in the file, each once."""

    def __init__(self, pdf: pydyf.PDF, fonts: "_Fonts") -> None:
        self._pdf = pdf
        self._fonts = fonts
        self._known: list[tuple[Drawing, str, bytes]] = []

    def of(self, drawing: Drawing) -> tuple[str, bytes]:
        """Return the name and reference of the form that shows the drawing."""
        for known, name, reference in self._known:
            if known is drawing:
                return name, reference
        box = drawing.extents.grown(1.0)
        form = pydyf.Stream(
            extra={
                "Type": "/XObject",
                "Subtype": "/Form",
                "BBox": pydyf.Array(
                    _rounded(v) for v in (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)
                ),
                "Resources": pydyf.Dictionary({"Font": self._fonts.resources}),
            },
            compress=True,
        )
        _draw(form, drawing, self._fonts)
        self._pdf.add_object(form)
        name = f"D{len(self._known) + 1}"
        self._known.append((drawing, name, form.reference))
        return name, form.reference


def _draw(stream: pydyf.Stream, drawing: Drawing, fonts: "_Fonts") -> None:
    stream.set_line_join(1)
    for fill in drawing.without_parts().fills:
        _draw_fill(stream, fill)
    for stroke in drawing.strokes:
        _draw_stroke(stream, stroke)
    for words in drawing.words:
        _draw_words(stream, words, fonts)


def _trace(stream: pydyf.Stream, points: Iterable[Point]) -> None:
    for k, (x, y) in enumerate(points):
        (stream.line_to if k else stream.move_to)(_rounded(x), _rounded(y))


def _draw_fill(stream: pydyf.Stream, fill: Fill) -> None:
    stream.set_color_rgb(*FILL_COLOURS[fill.kind])
    for ring in (fill.ring_mm, *fill.holes_mm):
        _trace(stream, ring)
        stream.close()
    stream.fill(even_odd=True)


def _draw_stroke(stream: pydyf.Stream, stroke: Stroke) -> None:
    pen = PENS[stroke.kind]
    stream.set_line_width(pen.width_mm)
    stream.set_line_cap(0 if pen.dashes_mm else 1)
    stream.set_dash(pen.dashes_mm, 0)
    stream.set_color_rgb(*INKS[pen.ink], stroke=True)
    _trace(stream, stroke.points_mm)
    if stroke.closed:
        stream.stroke_and_close()
    else:
        stream.stroke()


def _draw_words(stream: pydyf.Stream, words: Words, fonts: "_Fonts") -> None:
    text = settable(words.text, words.face)
    if not text:
        return
    turn = Turn(words.x_mm, words.y_mm, words.angle_deg)
    start = {"start": 0.0, "middle": -words.width_mm / 2, "end": -words.width_mm}[words.anchor]
    x, y = turn((start, 0.0))
    along_x, along_y = turn((start + 1.0, 0.0))
    c, s = along_x - x, along_y - y
    stream.begin_text()
    stream.set_color_rgb(*INKS[words.ink])
    stream.set_font_size(fonts.name(words.face), words.size_mm)
    stream.set_text_matrix(*(_rounded(v) for v in (c, s, -s, c, x, y)))
    stream.stream.append(b"<" + fonts.codes(words.face, text) + b"> Tj")
    stream.end_text()


@dataclass
class _FaceInUse:
    """One face in the file: its font object and the signs used so far."""

    font: pydyf.Dictionary
    signs: set[str] = field(default_factory=set)


class _Fonts:
    """The faces a file uses; only the glyphs used are embedded, as TrueType by glyph number."""

    def __init__(self, pdf: pydyf.PDF) -> None:
        self._pdf = pdf
        self._faces: dict[Face, _FaceInUse] = {}
        self.resources = pydyf.Dictionary()

    def name(self, face: Face) -> str:
        """Return the resource name of a face."""
        if face not in self._faces:
            font = pydyf.Dictionary()
            self._pdf.add_object(font)
            self._faces[face] = _FaceInUse(font)
            self.resources[_resource_name(face)] = font.reference
        return _resource_name(face)

    def codes(self, face: Face, text: str) -> bytes:
        """Return the text as hexadecimal glyph numbers, and note the signs as used."""
        self._faces[face].signs.update(text)
        glyphs = _glyph_numbers(face)
        return "".join(f"{glyphs[character]:04x}" for character in text).encode()

    def embed(self) -> None:
        """Add the font programs once every page is drawn."""
        for face, use in sorted(self._faces.items()):
            self._embed(face, use)

    def _embed(self, face: Face, use: _FaceInUse) -> None:
        signs = sorted(use.signs)
        program = pydyf.Stream([_subset(face, signs)], compress=True)
        self._pdf.add_object(program)
        tag = _subset_tag(face, signs)
        font = TTFont(BytesIO(font_bytes(face)))
        name = f"/{tag}+{font['name'].getDebugName(6)}"
        descriptor = _descriptor(font, name, program, italic=face == "italic")
        self._pdf.add_object(descriptor)
        to_unicode = pydyf.Stream([_to_unicode(face, signs)], compress=True)
        self._pdf.add_object(to_unicode)
        descendant = pydyf.Dictionary(
            {
                "Type": "/Font",
                "Subtype": "/CIDFontType2",
                "BaseFont": name,
                "CIDSystemInfo": pydyf.Dictionary(
                    {
                        "Registry": pydyf.String("Adobe"),
                        "Ordering": pydyf.String("Identity"),
                        "Supplement": 0,
                    }
                ),
                "FontDescriptor": descriptor.reference,
                "W": _widths(font, face, signs),
                "CIDToGIDMap": "/Identity",
            }
        )
        self._pdf.add_object(descendant)
        use.font.update(
            {
                "Type": "/Font",
                "Subtype": "/Type0",
                "BaseFont": name,
                "Encoding": "/Identity-H",
                "DescendantFonts": pydyf.Array([descendant.reference]),
                "ToUnicode": to_unicode.reference,
            }
        )


def _resource_name(face: Face) -> str:
    return f"F{face}"


@cache
def _glyph_numbers(face: Face) -> dict[str, int]:
    numbers = TTFont(BytesIO(font_bytes(face))).getReverseGlyphMap()
    return {chr(code): numbers[name] for code, name in glyph_names(face).items()}


def _subset(face: Face, signs: Sequence[str]) -> bytes:
    options = subset.Options(
        retain_gids=True, layout_features=[], hinting=False, notdef_outline=True
    )
    font = TTFont(BytesIO(font_bytes(face)), recalcTimestamp=False)
    for table in ("GSUB", "GPOS", "GDEF", "DSIG"):
        if table in font:
            del font[table]  # merely listed to be dropped, each would be read first
    worker = subset.Subsetter(options)
    worker.populate(text="".join(signs))
    worker.subset(font)
    output = BytesIO()
    font.save(output, reorderTables=False)
    return output.getvalue()


def _subset_tag(face: Face, signs: Sequence[str]) -> str:
    """Return the six capitals that mark a subset, always the same for the same signs."""
    digest = hashlib.sha256(f"{face}{''.join(signs)}".encode()).digest()
    return "".join(chr(65 + byte % 26) for byte in digest[:6])


def _widths(font: TTFont, face: Face, signs: Sequence[str]) -> pydyf.Array:
    metrics, names = font["hmtx"], glyph_names(face)
    numbers = font.getReverseGlyphMap()
    scale = 1000.0 / units_per_em(face)
    widths = pydyf.Array()
    for sign in signs:
        glyph = names[ord(sign)]
        widths.extend([numbers[glyph], pydyf.Array([_rounded(metrics[glyph][0] * scale)])])
    return widths


def _descriptor(
    font: TTFont, name: str, program: pydyf.Stream, *, italic: bool
) -> pydyf.Dictionary:
    scale = 1000.0 / float(font["head"].unitsPerEm)
    head, os2, hhea = font["head"], font["OS/2"], font["hhea"]
    box = pydyf.Array(_rounded(v * scale) for v in (head.xMin, head.yMin, head.xMax, head.yMax))
    return pydyf.Dictionary(
        {
            "Type": "/FontDescriptor",
            "FontName": name,
            "Flags": 4 + (64 if italic else 0),
            "FontBBox": box,
            "ItalicAngle": float(font["post"].italicAngle),
            "Ascent": _rounded(hhea.ascent * scale),
            "Descent": _rounded(hhea.descent * scale),
            "CapHeight": _rounded(os2.sCapHeight * scale),
            "StemV": 80,
            "FontFile2": program.reference,
        }
    )


def _to_unicode(face: Face, signs: Sequence[str]) -> bytes:
    """Return the table that lets a reader search and copy the words."""
    glyphs = _glyph_numbers(face)
    rows = [f"<{glyphs[s]:04x}> <{s.encode('utf-16-be').hex()}>" for s in signs]
    blocks = [rows[k : k + 100] for k in range(0, len(rows), 100)]
    body = "\n".join(
        f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks
    )
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n"
        f"{body}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    ).encode()
