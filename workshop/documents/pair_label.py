"""The label on a pair's box: what it is, for which foot, and the note on age and colour."""

from datetime import date

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from workshop.documents.care_card import CareCard, age_words
from workshop.documents.heading import day_words
from workshop.documents.paper import paper_pdf

WIDTH_MM, HEIGHT_MM = 100, 60


def pair_label_pdf(
    card: CareCard,
    *,
    foot_length_mm: float,
    made_on: date,
    document_id: bytes | None = None,
) -> bytes:
    """Return one page of 100 x 60 mm; the same card gives the same bytes.

    Parameters
    ----------
    card : CareCard
        What the order's care card says.
    foot_length_mm : float
        Of the foot the pair was made for.
    made_on : date
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    context = {
        "language": get_language() or "en",
        "card": card,
        "size": _("for a foot {mm} mm long").format(mm=f"{foot_length_mm:.1f}".removesuffix(".0")),
        "age": age_words(),
        "made_on": day_words(made_on),
        "width_mm": WIDTH_MM,
        "height_mm": HEIGHT_MM,
    }
    return paper_pdf("documents/pair_label.html", context, made_on=made_on, document_id=document_id)
