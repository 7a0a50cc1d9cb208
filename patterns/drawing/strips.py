"""Draw a paper strip that goes round a foot: a cut end, and a scale that it comes to lie on."""

from patterns.drawing.drawing import Box, Drawing, Stroke, Words
from patterns.try_on import SCALE_MM, STRIP_MM, Strip

GRIP_MM = 6.0  # beyond the scale, to hold it by
LETTERS_MM = 2.3
FIGURES_MM = 1.7


def draw_strip(strip: Strip, words: str) -> Drawing:
    """Return a strip at true scale, its cut end at the left, with its words above it.

    Parameters
    ----------
    strip : Strip
    words : str
        What it goes round, such as ``"ball"``.
    """
    nought = strip.girth_mm
    end = nought + SCALE_MM + GRIP_MM
    outline = Stroke(Box(0.0, 0.0, end, STRIP_MM).ring(), "cut", closed=True)
    ticks = []
    for k in range(-SCALE_MM, SCALE_MM + 1):
        reach = STRIP_MM if k == 0 else 1.5 if k % 5 == 0 else 0.9
        ticks.append(Stroke(((nought + k, 0.0), (nought + k, reach)), "scale"))
    figures = [
        Words(text, nought + k, STRIP_MM - 1.6, FIGURES_MM, "middle")
        for k, text in ((-5, "−5"), (5, "+5"))
    ]
    name = Words(f"{words} · {strip.girth_mm:.1f} mm", 0.0, STRIP_MM + 1.2, LETTERS_MM)
    meets = Words("0", nought, STRIP_MM + 1.2, LETTERS_MM, "middle")
    return Drawing((outline, *ticks), words=(*figures, name, meets))
