"""The care card: small enough for the parcel, twice on a sheet, with lines to cut along."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from workshop.documents.heading import day_words
from workshop.documents.paper import paper_pdf

CARD_MM = (148.0, 105.0)  # A6 on its side, ISO 216
CARDS_ON_A_SHEET = 2


@dataclass(frozen=True, slots=True)
class CareCard:
    """Everything a care card says of one order.

    ``rubbing`` is what is to be heeded of a leather whose colour may rub off; empty for one that
    nobody doubts, where the usual sentence stands instead.
    """

    workshop: str
    order_code: str
    title: str
    doll: str
    leather: str = ""
    rubbing: tuple[str, ...] = ()
    contact: str = ""


def colour_words(card: CareCard) -> tuple[str, ...]:
    """Return what the card says of colour: of this leather, else of leather as such."""
    said = card.rubbing or (
        _("Leather colour can rub off on vinyl, resin and cloth. Try it on a hidden spot first."),
    )
    return (*said, _("Do not leave the shoes on the doll for months; store them beside it."))


def care_words() -> tuple[str, ...]:
    """Return how leather, laces and soles are looked after; common practice, no source."""
    return (
        _("Open the laces fully before the foot goes in or out; hold the boot at the heel."),
        _("Dust with a soft dry brush. Keep dry; if it gets wet, let it dry slowly, away from"
          " heat, filled with paper."),
        _("Keep out of sun and away from heaters. Try any care product inside the boot first, by"
          " its maker's label."),
        _("Clay soles break when bent or dropped."),
    )  # fmt: skip


def age_words() -> tuple[str, ...]:
    """Return for whom it is made, and for whom not."""
    return (
        _("Made for a collector's doll. Not a toy and not assessed as one."),
        _("Small parts can be swallowed. Keep away from children under 3 years and from pets."),
    )  # fmt: skip


def care_card_pdf(
    card: CareCard,
    *,
    made_on: date,
    paper: Literal["A4", "Letter"] = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return a sheet with the card twice, to be cut out; the same card gives the same bytes.

    Parameters
    ----------
    card : CareCard
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "card": card,
        "cards": range(CARDS_ON_A_SHEET),
        "made_on": day_words(made_on),
        "colour": colour_words(card),
        "care": care_words(),
        "age": age_words(),
        "may_rub": bool(card.rubbing),
    }
    return paper_pdf("documents/care_card.html", context, made_on=made_on, document_id=document_id)
