"""Sheets of paper, and what a printer makes of a millimetre on them."""

from dataclasses import dataclass
from typing import Literal

from patterns.drawing.drawing import Box

Paper = Literal["A4", "Letter"]

# A4: ISO 216, 210 x 297 mm. Letter: 8.5 x 11 inches (ANSI Y14.1, size A).
PAPER_SIZES_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}

MARGIN_MM = 10.0  # what common printers leave white; nothing is drawn there
HEADER_MM = 9.0
FOOTER_MM = 18.0


@dataclass(frozen=True, slots=True)
class Printer:
    """How long a printer draws one millimetre: across the sheet's short side and along its long.

    A sheet for a printer that draws 0.99 is drawn 1/0.99 times as large, so that what comes out
    is true; the margin stays, and there is so much less room. ``name`` is written on each sheet.
    """

    name: str = ""
    across: float = 1.0
    along: float = 1.0

    @property
    def is_true(self) -> bool:
        """Return whether nothing is to be corrected."""
        return self.across == 1.0 and self.along == 1.0

    def makes(self, *, landscape: bool) -> tuple[float, float]:
        """Return what it makes of a millimetre along x and along y of a page."""
        return (self.along, self.across) if landscape else (self.across, self.along)


TRUE_PRINTER = Printer()


def page_size(
    paper: Paper, *, landscape: bool = False, printer: Printer = TRUE_PRINTER
) -> tuple[float, float]:
    """Return width and height in mm, as they come out, of a sheet with its margins."""
    width, height = PAPER_SIZES_MM[paper]
    across, up = printer.makes(landscape=landscape)
    if landscape:
        width, height = height, width
    return (
        2.0 * MARGIN_MM + (width - 2.0 * MARGIN_MM) * across,
        2.0 * MARGIN_MM + (height - 2.0 * MARGIN_MM) * up,
    )


def content_box(paper: Paper, *, landscape: bool = False, printer: Printer = TRUE_PRINTER) -> Box:
    """Return the part of a page free for drawings: inside margin, header and footer."""
    width, height = page_size(paper, landscape=landscape, printer=printer)
    return Box(MARGIN_MM, MARGIN_MM + FOOTER_MM, width - MARGIN_MM, height - MARGIN_MM - HEADER_MM)
