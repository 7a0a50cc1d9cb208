"""Write a Drawing as SVG: sizes in mm, classes for the page's colours, no style attributes."""

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from patterns.drawing.drawing import PENS, Box, Drawing, Fill, FillKind, Ink, Stroke, Words
from patterns.drawing.fonts import FAMILIES
from patterns.drawing.inks import FILL_COLOURS, INKS, web_colour
from patterns.pieces.piece import Point

# Without a page's own colours, quiet and faint lines still stand back behind the others.
_STROKE_OPACITY: dict[Ink, float] = {"quiet": 0.75, "faint": 0.3}
_FILL_OPACITY: dict[FillKind, float] = {
    "hide": 0.05,
    "defect": 0.1,
    "piece": 0.05,
    "foot": 0.06,
    "bar": 1.0,
    "here": 0.35,
    "grade": 0.06,
    "sole": 0.3,
    "part": 0.0,
}


def drawing_svg(
    drawing: Drawing,
    *,
    title: str,
    description: str = "",
    fit_width_mm: float | None = None,
    margin_mm: float = 1.0,
    own_colours: bool = False,
) -> str:
    """Return the drawing as a complete ``svg`` element.

    Parameters
    ----------
    drawing : Drawing
    title, description : str
        What a reader who cannot see the drawing is told; escaped here.
    fit_width_mm : float, optional
        Width it is shown at; left out, the drawing keeps its true size.
    margin_mm : float
        Room left round the drawing.

    own_colours : bool
        Write the papers' inks into the file, for readers that know no page's colours; what pages
        alone use, the rooms of pieces, is left out.

    Notes
    -----
    ``width`` and ``height`` in mm and a ``viewBox`` of the same aspect keep the scale true.
    Every line has ``stroke="currentColor"`` and a class such as ``line-cut``; every fill a class
    such as ``fill-hide``: a page colours them without a style attribute. ``textLength`` keeps a
    label inside its clear spot where the reader's machine lacks our font.
    """
    if own_colours:
        drawing = drawing.without_parts()
    box = drawing.extents.grown(margin_mm)
    scale = 1.0 if fit_width_mm is None else fit_width_mm / box.width_mm
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(box.width_mm * scale)}mm" '
        f'height="{_number(box.height_mm * scale)}mm" '
        f'viewBox="0 0 {_number(box.width_mm)} {_number(box.height_mm)}" '
        'role="img" class="drawing">',
        f"<title>{escape(_clean(title))}</title>",
    ]
    if description:
        parts.append(f"<desc>{escape(_clean(description))}</desc>")
    parts.extend(_fill(fill, box, own_colours) for fill in drawing.fills)
    parts.append('<g fill="none" stroke-linecap="round" stroke-linejoin="round">')
    parts.extend(_stroke(stroke, box, own_colours) for stroke in drawing.strokes)
    parts.append("</g>")
    parts.extend(_words(words, box, own_colours) for words in drawing.words)
    parts.append("</svg>")
    return "\n".join(parts)


def _number(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _clean(text: str) -> str:
    """Return the text without the control characters XML 1.0 forbids."""
    return "".join(c for c in text if c in "\t\n\r" or (c >= " " and c not in "\ufffe\uffff"))


def _points(points: Iterable[Point], box: Box) -> str:
    return " ".join(f"{_number(x - box.left_mm)},{_number(box.top_mm - y)}" for x, y in points)


def _class(prefix: str, kind: str) -> str:
    return f"{prefix}-{kind.replace(' ', '-')}"


def _stroke(stroke: Stroke, box: Box, own_colours: bool) -> str:
    pen = PENS[stroke.kind]
    dashes = ""
    if pen.dashes_mm:
        lengths = " ".join(_number(length) for length in pen.dashes_mm)
        dashes = f' stroke-dasharray="{lengths}" stroke-linecap="butt"'
    colour = web_colour(INKS[pen.ink]) if own_colours else "currentColor"
    opacity = 1.0 if own_colours else _STROKE_OPACITY.get(pen.ink, 1.0)
    faded = f' stroke-opacity="{_number(opacity)}"' if opacity < 1.0 else ""
    tag = "polygon" if stroke.closed else "polyline"
    return (
        f'<{tag} class="{_class("line", stroke.kind)}" points="{_points(stroke.points_mm, box)}" '
        f'stroke="{colour}" stroke-width="{_number(pen.width_mm)}"{faded}{dashes}/>'
    )


def _fill(fill: Fill, box: Box, own_colours: bool) -> str:
    rings = (fill.ring_mm, *fill.holes_mm)
    colour = web_colour(FILL_COLOURS[fill.kind]) if own_colours else "currentColor"
    opacity = 1.0 if own_colours else _FILL_OPACITY[fill.kind]
    path = " ".join(f"M{_points(ring, box)}Z" for ring in rings)
    part = f" data-piece={quoteattr(_clean(fill.part))}" if fill.part else ""
    return (
        f'<path class="{_class("fill", fill.kind)}"{part} d="{path}" fill="{colour}" '
        f'fill-rule="evenodd" fill-opacity="{_number(opacity)}"/>'
    )


def _words(words: Words, box: Box, own_colours: bool) -> str:
    x, y = _number(words.x_mm - box.left_mm), _number(box.top_mm - words.y_mm)
    turn = f' transform="rotate({_number(-words.angle_deg)} {x} {y})"' if words.angle_deg else ""
    weight = ' font-weight="700"' if words.face == "bold" else ""
    slant = ' font-style="italic"' if words.face == "italic" else ""
    generic = "serif" if words.face == "serif" else "sans-serif"
    colour = web_colour(INKS[words.ink]) if own_colours else "currentColor"
    family = quoteattr(f"{FAMILIES[words.face]}, {generic}")
    return (
        f'<text class="words words-{words.ink}" x="{x}" y="{y}" font-family={family} '
        f'font-size="{_number(words.size_mm)}" text-anchor="{words.anchor}" '
        f'textLength="{_number(words.width_mm)}" lengthAdjust="spacingAndGlyphs" '
        f'fill="{colour}"{weight}{slant}{turn}>{escape(_clean(words.text))}</text>'
    )
