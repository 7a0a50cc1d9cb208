"""Papers made in the background: all of one order as a ZIP, cutting sheets of many as one PDF.

Their files lie under DATA_DIR by their content; the work's result names them.
"""

from collections.abc import Callable, Iterable, Mapping
from io import BytesIO
from typing import Any

from django.http import QueryDict
from django.utils import translation
from django.utils.translation import gettext as _
from pypdf import PdfWriter

from patterns.errors import PatternError
from patterns.exchange.pieces_file import pieces_from_document
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.kept_files import file_content, file_keep
from workshop.models import Commission, Quote
from workshop.order_papers import PaperAsk, bundle, quote_sheet_heading, today

FOLDER = "papers"
ZIP, PDF = ".zip", ".pdf"
MOST_SHEETS = 200
Report = Callable[[int, str], None]


def run_bundle(inputs: Mapping[str, Any], report: Report) -> dict[str, Any]:
    """Put every paper of an order into one ZIP.

    ``inputs``: job, the query its page was asked with, paper, language, and whether money is seen.
    """
    # Imported here: the form and the road to a price hand their layouts to the worker's module.
    from workshop.forms.orders import ChoiceForm
    from workshop.views.job_worked import worked_from

    commission = Commission.objects.select_related("customer", "doll").get(pk=inputs["job"])
    with translation.override(inputs["language"]):
        form = ChoiceForm(QueryDict(inputs["query"]), job=commission)
        worked = worked_from(form, commission, with_money=inputs["money"])
        if worked is None or worked.pieces is None:
            reason = _("Foot and style are not chosen, or the pieces cannot be drawn.")
            raise PatternError(reason, code="no-pieces")
        ask = PaperAsk(commission, worked, made_on=today(), paper=inputs["paper"])
        content, faults = bundle(
            ask,
            with_money=inputs["money"],
            progress=lambda done, of, name: report(100 * done // max(1, of), name),
        )
    return {"file": file_keep(FOLDER, ZIP, content), "bytes": len(content), "faults": faults}


def run_sheets(
    inputs: Mapping[str, Any],
    so_far: Mapping[str, Any],
    on_sheet: Callable[[int, int, str, Mapping[str, Any]], None],
) -> dict[str, Any]:
    """Draw the cutting sheets of many quotes and put them into one PDF, in their order.

    ``on_sheet`` is called before each with how many are done, of how many, the quote's code, and
    what to keep so that the work can go on from there.
    """
    made: dict[str, str] = dict(so_far.get("made", {}))
    quotes = Quote.objects.select_related("commission__doll", "foot").in_bulk(inputs["quotes"])
    faults = []
    with translation.override(inputs["language"]):
        for number, key in enumerate(inputs["quotes"]):
            quote = quotes.get(key)
            if quote is None:
                continue
            on_sheet(number, len(inputs["quotes"]), quote.code, {"made": made})
            if str(key) in made and file_content(FOLDER, PDF, made[str(key)]) is not None:
                continue
            try:
                made[str(key)] = file_keep(FOLDER, PDF, _sheet(quote, inputs["paper"]))
            except PatternError as error:
                faults.append(f"{quote.code}: {error}")
    content = _joined(made[str(key)] for key in inputs["quotes"] if str(key) in made)
    return {
        "file": file_keep(FOLDER, PDF, content) if made else "",
        "count": len(made),
        "faults": faults,
    }


def _sheet(quote: Quote, paper: str) -> bytes:
    return cutting_sheet_pdf(
        pieces_from_document(quote.drawings["pieces"]),
        heading=quote_sheet_heading(quote),
        made_on=today(),
        paper=paper,
    )


def _joined(digests: Iterable[str]) -> bytes:
    """Return kept PDFs as one, which keeps the first one's wish not to be scaled."""
    writer = PdfWriter()
    for number, digest in enumerate(digests):
        content = file_content(FOLDER, PDF, digest)
        if content is None:
            raise PatternError(_("A sheet was lost from the disk; run it again."), code="lost")
        if number == 0:
            writer = PdfWriter(clone_from=BytesIO(content))
        else:
            writer.append(BytesIO(content), import_outline=False)
    output = BytesIO()
    writer.write(output)
    return output.getvalue()
