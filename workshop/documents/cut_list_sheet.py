"""The cut list on paper: every piece in its order with a box to tick, no money and no address."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from workshop.documents.heading import day_words
from workshop.documents.paper import paper_pdf
from workshop.models import CutLine
from workshop.selectors.plans import CutListShown, line_name

PageSize = Literal["A4", "Letter"]


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line on paper."""

    position: int
    name: str
    area_mm2: object
    is_cut: bool
    is_scrapped: bool
    note: str


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """The lines of one hide or material."""

    title: str
    lines: list[SheetLine]


def cut_list_pdf(
    shown: CutListShown,
    *,
    workshop: str,
    made_on: date,
    paper: PageSize = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the cut list as PDF; the same input gives the same bytes.

    Parameters
    ----------
    shown : CutListShown
    workshop : str
        The workshop's name.
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    record = shown.record
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "workshop": workshop,
        "made_on": day_words(made_on),
        "record": record,
        "listed_on": day_words(timezone.localtime(record.made_at).date()),
        "doll": record.commission.doll,
        "groups": [
            SheetGroup(group.title, [_line(line) for line in group.lines]) for group in shown.groups
        ],
        "shown": shown,
    }
    return paper_pdf("documents/cut_list.html", context, made_on=made_on, document_id=document_id)


def _line(line: CutLine) -> SheetLine:
    return SheetLine(
        position=line.position,
        name=line_name(line),
        area_mm2=line.area_mm2,
        is_cut=line.state == CutLine.State.CUT,
        is_scrapped=line.state == CutLine.State.SCRAPPED,
        note=line_note(line),
    )


def line_note(line: CutLine) -> str:
    """Return what is to be known of a line: why it was scrapped, or that it is cut again."""
    if line.state == CutLine.State.SCRAPPED:
        reason = line.get_reason_display()
        return f"{reason}: {line.reason_note}" if line.reason_note else str(reason)
    if line.needs_a_place:
        return _("no place on the hide yet")
    return _("cut again") if line.recut_of_id is not None else ""
