"""Drawn sheets at true scale: in the reader's language, true from the heading's printer."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.furniture import SheetWords
from patterns.drawing.paper import Paper, Printer, content_box
from patterns.drawing.sheets import lay_on_sheets, tiled_pdf
from workshop.documents.heading import SheetHeading


def block_width_mm(paper: Paper, heading: SheetHeading) -> float:
    """Return how wide the head of a first page may be."""
    # Half a pen's width less than the page is wide, so that rules stay inside the margin.
    return content_box(paper, printer=heading.printer).width_mm - 0.5


def true_sheet_pdf(
    drawings: Sequence[Drawing],
    *,
    heading: SheetHeading,
    paper: Paper,
    title: str,
    made_on: date,
    first_block: Drawing,
    banner: str = "",
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF of the drawings; see `patterns.drawing.sheets.lay_on_sheets`."""
    return tiled_pdf(
        drawings,
        paper=paper,
        title=title,
        made_on=made_on,
        first_block=first_block,
        banner=banner,
        printer=heading.printer,
        words=sheet_words(heading.printer),
        language=get_language() or "en",
        document_id=document_id,
    )


def true_sheet_count(
    drawings: Sequence[Drawing],
    *,
    heading: SheetHeading,
    paper: Paper,
    title: str,
    first_block: Drawing,
) -> int:
    """Return how many pages `true_sheet_pdf` makes."""
    pages = lay_on_sheets(
        drawings, paper=paper, title=title, first_block=first_block, printer=heading.printer
    )
    return len(pages)


def title_words(*parts: str) -> str:
    """Return a sheet's title from those parts that are given."""
    return " · ".join(part for part in parts if part)


def sheet_words(printer: Printer) -> SheetWords:
    """Return the sentences on every page, with what was corrected for the printer."""
    corrected = ""
    if not printer.is_true:
        corrected = _("for {printer}: {across} % across, {along} % along").format(
            printer=printer.name,
            across=f"{100 * printer.across:.2f}",
            along=f"{100 * printer.along:.2f}",
        )
    return SheetWords(
        page=_("page {number} of {count}"),
        print_note=_("Print at 100 %, not fit to page; this bar must measure 100 mm"),
        tile_note=_("sheet {letter} of {count}; join at the crosses"),
        corrected=corrected,
    )
