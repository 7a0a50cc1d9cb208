"""The measuring card: where the tape goes, room to write, and squared paper for tracings."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing, Stroke
from patterns.drawing.foot import draw_measure
from patterns.drawing.svg import drawing_svg
from patterns.foot import MEASURES
from workshop.documents.heading import SheetHeading, day_words
from workshop.documents.paper import paper_pdf

DRAWING_WIDTH_MM = 17.0
MAIL_COLUMNS = 72
SQUARED_MM = (170.0, 150.0)
SQUARE_MM = 10.0
BAR_MM = 100.0


@dataclass(frozen=True, slots=True)
class CardEntry:
    """One measure on the card: its words and its drawing."""

    label: str
    help_text: str
    drawing: SafeString
    must: bool


def card_entries() -> tuple[CardEntry, ...]:
    """Return all measures in their order, each with the drawing of where it is taken."""
    return tuple(
        CardEntry(
            _(measure.label),
            _(measure.help_text),
            _svg(draw_measure(measure.key), _(measure.label), fit_width_mm=DRAWING_WIDTH_MM),
            measure.key == "foot_length",
        )
        for measure in MEASURES
    )


def _svg(drawing: Drawing, title: str, *, fit_width_mm: float | None = None) -> SafeString:
    # The writer escapes every word and makes no element but lines, fills and text.
    return mark_safe(drawing_svg(drawing, title=title, fit_width_mm=fit_width_mm, own_colours=True))


def measuring_card_pdf(
    *,
    heading: SheetHeading,
    made_on: date,
    reply_to: str = "",
    paper: Literal["A4", "Letter"] = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the card as PDF: a page of measures, and a page of true-scale squared paper.

    Parameters
    ----------
    heading : SheetHeading
        Workshop and doll are shown if given.
    made_on : date
    reply_to : str
        Where the filled-in card goes, such as a mail address.
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "heading": heading,
        "made_on": day_words(made_on),
        "reply_to": reply_to,
        "entries": card_entries(),
        "squared": mark_safe(
            drawing_svg(squared_paper(), title=_("squares of 10 mm"), own_colours=True)
        ),
        "bar": mark_safe(drawing_svg(_bar(), title=_("a bar of 100 mm"), own_colours=True)),
    }
    return paper_pdf(
        "documents/measuring_card.html", context, made_on=made_on, document_id=document_id
    )


def squared_paper() -> Drawing:
    """Return squares of 10 mm at true scale, with a line for the heel to stand on."""
    width, height = SQUARED_MM
    upright = [
        Stroke(((k * SQUARE_MM, 0.0), (k * SQUARE_MM, height)), "square")
        for k in range(round(width / SQUARE_MM) + 1)
    ]
    level = [
        Stroke(((0.0, k * SQUARE_MM), (width, k * SQUARE_MM)), "square")
        for k in range(round(height / SQUARE_MM) + 1)
    ]
    heel_line = Stroke(((SQUARE_MM, 0.0), (SQUARE_MM, height)), "cut")
    return Drawing((*upright, *level, heel_line))


def _bar() -> Drawing:
    ticks = [
        Stroke(((float(x), 0.0), (float(x), 3.0 if x % 50 == 0 else 2.0)), "scale")
        for x in range(0, round(BAR_MM) + 1, 10)
    ]
    return Drawing((Stroke(((0.0, 0.0), (BAR_MM, 0.0)), "scale"), *ticks))


def measuring_card_text(*, heading: SheetHeading, reply_to: str = "") -> str:
    """Return the card as plain text for a mail, one line to fill in for each measure."""
    blocks: list[str] = []
    title = _("Measures of the foot") + (f", {heading.doll}" if heading.doll else "")
    blocks.append(f"{heading.workshop}\n{title}" if heading.workshop else title)
    blocks.append(
        _filled(
            _("Measure in millimetres, to half a millimetre if you can. Leave out what you cannot"
              " reach; foot length is needed, instep height helps most.")
        )
    )  # fmt: skip
    blocks += [
        f"{_(measure.label)} (mm): ______\n{_filled(_(measure.help_text), indent='  ')}"
        for measure in MEASURES
    ]
    if reply_to:
        blocks.append(_filled(_("Please send this back to {address}.").format(address=reply_to)))
    return "\n\n".join(blocks) + "\n"


def _filled(text: str, *, indent: str = "") -> str:
    lines: Sequence[str] = textwrap.wrap(
        text,
        MAIL_COLUMNS,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "\n".join(lines)
