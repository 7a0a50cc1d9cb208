"""The calibration page: two bars to print and measure, so that later sheets come out true."""

from datetime import date

from django.utils.translation import gettext as _

from patterns.drawing.calibration import ACROSS_MM, ALONG_MM, calibration_bars
from patterns.drawing.drawing import Drawing, joined
from patterns.drawing.paper import Paper
from workshop.documents.card import Card, write_head
from workshop.documents.heading import SheetHeading
from workshop.documents.true_sheet import block_width_mm, title_words, true_sheet_pdf

BESIDE_MM = 22.0  # what the upright bar and its figures take
TEXT_MM = 4.0
LINES_TO_WRITE_MM = 12.0


def calibration_page_pdf(
    *,
    heading: SheetHeading,
    made_on: date,
    paper: Paper = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the one page as PDF; the same input gives the same bytes.

    Parameters
    ----------
    heading : SheetHeading
        With a printer, the bars are corrected for it: they must come out true.
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    return true_sheet_pdf(
        [],
        heading=heading,
        paper=paper,
        title=title_words(_("Calibration page"), paper, heading.printer.name),
        made_on=made_on,
        first_block=_page(heading, made_on, paper),
        document_id=document_id,
    )


def _page(heading: SheetHeading, made_on: date, paper: Paper) -> Drawing:
    card = Card(block_width_mm(paper, heading) - BESIDE_MM)
    write_head(card, _("Calibration page, {paper}").format(paper=paper), heading, made_on)
    card.rule()
    for words in _steps(heading):
        card.paragraph(words, size_mm=TEXT_MM)
        card.space(3.0)
    for words in (_("Level bar: ______ mm"), _("Upright bar: ______ mm"), _("Printer: ______")):
        card.space(LINES_TO_WRITE_MM)
        card.write(words.replace("_" * 6, "_" * 20), size_mm=TEXT_MM)
    text = card.drawing()
    bars = calibration_bars()
    return joined((bars, text.moved(BESIDE_MM, ALONG_MM - text.extents.top_mm)))


def _steps(heading: SheetHeading) -> tuple[str, ...]:
    first = _(
        "Print this page at 100 %, “actual size”, not fitted to the page, on the paper it is made"
        " for. Measure both bars with a steel rule between their long end ticks, to a quarter of a"
        " millimetre: the level bar is {across} mm, the upright one {along} mm."
    ).format(across=f"{ACROSS_MM:g}", along=f"{ALONG_MM:g}")
    if not heading.printer.is_true:
        return (
            first,
            _(
                "This page is drawn for {printer}: both bars must come out at their full length."
                " If they do not, print the page without correction and measure anew."
            ).format(printer=heading.printer.name),
        )
    return (
        first,
        _(
            "Type both lengths in under Settings, Printers. Cutting sheets, mock-ups, layouts over"
            " tiles and the last's cards are then drawn so much larger or smaller that they come"
            " out true, and say so on every page."
        ),
        _(
            "Both bars much too short, alike? The print dialogue fitted the page: a page for A4"
            " fitted on Letter comes out at 94.07 %, one for Letter on A4 at 97.27 %. That is"
            " mended in the dialogue, not here."
        ),
        _(
            "Paper grows in damp air, along one side more than the other: let a fresh stack lie a"
            " day in the room, and measure again when the paper or the season changes."
        ),
    )
