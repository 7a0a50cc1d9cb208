"""Labels for hides and remnants: the code in large letters, the figures, a code to scan."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import segno
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from workshop.documents.heading import day_words
from workshop.documents.paper import paper_pdf

WIDTH_MM, HEIGHT_MM = 100, 60
ERROR_LEVEL = "m"  # 15 % of the code may be rubbed off, ISO/IEC 18004
QUIET_MODULES = 4  # the clear border the same standard asks for


@dataclass(frozen=True, slots=True)
class HideLabel:
    """What stands on one label; nothing of money, as it hangs in sight."""

    code: str
    leather: str
    colour: str
    lot: str
    remnant_of: str
    thickness_mm: Decimal
    area_mm2: Decimal
    width_mm: float
    height_mm: float
    address: str
    drawing: SafeString

    @property
    def qr(self) -> str:
        """Return the code to scan as a ``data:`` address of an SVG."""
        code = segno.make(self.address, error=ERROR_LEVEL, micro=False)
        return str(code.svg_data_uri(border=QUIET_MODULES, dark="#000", light="#fff"))


def hide_labels_pdf(
    labels: Sequence[HideLabel],
    *,
    workshop: str,
    made_on: date,
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF of one page of 100 x 60 mm for each label.

    Parameters
    ----------
    labels : sequence of HideLabel, length n >= 1
    workshop : str
        The workshop's name.
    made_on : date
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    context = {
        "language": get_language() or "en",
        "title": _("Labels: {codes}").format(codes=", ".join(label.code for label in labels)),
        "labels": labels,
        "workshop": workshop,
        "made_on": day_words(made_on),
        "width_mm": WIDTH_MM,
        "height_mm": HEIGHT_MM,
    }
    return paper_pdf("documents/hide_label.html", context, made_on=made_on, document_id=document_id)
