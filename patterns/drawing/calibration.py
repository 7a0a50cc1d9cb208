"""Bars to measure what a printer makes of a millimetre, and what the measured bars tell."""

from patterns.drawing.drawing import Anchor, Drawing, Stroke, Words, joined
from patterns.drawing.labels import LEAST_SIZE_MM
from patterns.drawing.paper import PAPER_SIZES_MM, Paper, Printer
from patterns.errors import PatternError

# The longest whole tens that stand beside and below the text of either paper.
ACROSS_MM, ALONG_MM = 170.0, 210.0
TICK_MM, TALL_TICK_MM, END_MM = 2.0, 3.4, 6.0
FIGURES_MM = 50.0  # a figure at every so many
# What a printer does by itself is mostly below one per cent: common practice, no source. More
# than this is a print dialogue that shrank or stretched the page, to be mended there.
CORRECTED_MOST = 0.02
FITTED_NEAR = 0.004  # so near to a page fitted on the other paper, that is what happened


def calibration_bars() -> Drawing:
    """Return the two bars, joined at their lower left ends, which are the origin.

    The level one is `ACROSS_MM` long, the upright one `ALONG_MM`, between their long end ticks.
    """
    return joined((_bar(ACROSS_MM, upright=False), _bar(ALONG_MM, upright=True)))


def _bar(length_mm: float, *, upright: bool) -> Drawing:
    def at(along: float, aside: float) -> tuple[float, float]:
        return (aside, along) if upright else (along, aside)

    strokes = [Stroke((at(0.0, 0.0), at(length_mm, 0.0)), "scale")]
    words = []
    for tick in range(0, int(length_mm) + 1, 10):
        is_end = tick in (0, int(length_mm))
        tall = END_MM if is_end else TALL_TICK_MM if tick % FIGURES_MM == 0 else TICK_MM
        strokes.append(Stroke((at(tick, 0.0), at(tick, tall)), "scale"))
        if tick and (tick % FIGURES_MM == 0 or is_end):
            text = f"{tick} mm" if is_end else str(tick)
            if upright:
                words.append(Words(text, tall + 1.2, tick - 1.2, LEAST_SIZE_MM))
            else:
                anchor: Anchor = "end" if is_end else "middle"
                words.append(Words(text, tick - (1.0 if is_end else 0.0), tall + 1.2,
                                   LEAST_SIZE_MM, anchor))  # fmt: skip
    return Drawing(tuple(strokes), words=tuple(words))


def printer_measured(name: str, across_mm: float, along_mm: float) -> Printer:
    """Return a printer from the lengths its two bars came out with.

    Raises
    ------
    PatternError
        A bar is off by more than two per cent: the page was scaled on its way to the printer.
        ``field`` is ``across_mm`` or ``along_mm``.
    """
    makes = {"across_mm": across_mm / ACROSS_MM, "along_mm": along_mm / ALONG_MM}
    for field, share in makes.items():
        if abs(share - 1.0) <= CORRECTED_MOST:
            continue
        text = (
            f"This bar came out at {100 * share:.1f} % of its length; no printer is that far off."
            f" {_what_happened(makes)} Print the page again at 100 % and measure between the long"
            " end ticks."
        )
        raise PatternError(text, field=field, code="scaled-page", share=share)
    return Printer(name, makes["across_mm"], makes["along_mm"])


def _what_happened(makes: dict[str, float]) -> str:
    """Return the likely cause, known when both bars shrank as one paper does on the other."""
    papers: tuple[tuple[Paper, Paper], ...] = (("A4", "Letter"), ("Letter", "A4"))
    for drawn, put_on in papers:
        (width, height), (room_width, room_height) = PAPER_SIZES_MM[drawn], PAPER_SIZES_MM[put_on]
        fitted = min(room_width / width, room_height / height)
        if all(abs(share - fitted) <= FITTED_NEAR for share in makes.values()):
            return f"The page for {drawn} was fitted on {put_on} paper ({100 * fitted:.2f} %)."
    if all(share < 1.0 for share in makes.values()):
        return "The print dialogue fitted the page to the printer's margins."
    return "The print dialogue scaled the page, or the bar was misread."
