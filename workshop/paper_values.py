"""A stored quote as the customer gets it: on the open page, as a paper, as text for a mail."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.exchange.pieces_file import pieces_from_document
from patterns.pieces.piece import PieceSet
from workshop.documents.heading import SheetHeading
from workshop.documents.quote_paper import QuotePaper, quote_text, tax_words, usual_cautions
from workshop.models import Doll, Quote, WorkshopProfile
from workshop.pictures import quoted_shoe, shoe_svg
from workshop.selectors.promises import promise_words


@dataclass(frozen=True, slots=True)
class PaperPage:
    """The value behind a quote's paper, and what the page shows beside it."""

    paper: QuotePaper
    leather: str
    drawing: SafeString

    @property
    def text(self) -> str:
        """Return the text to copy into a mail."""
        return quote_text(self.paper)

    @property
    def tax_words(self) -> str:
        """Return how much tax is in the price."""
        return tax_words(self.paper)


def paper_of(quote: Quote, *, link: str = "") -> PaperPage:
    """Return a quote as the open page shows it."""
    hide = quote.snapshot["hide"]
    return PaperPage(
        paper=quote_paper_of(quote, link=link),
        leather=f"{hide['leather']}, {hide['colour']}",
        drawing=shoe_svg(quoted_shoe(quote)),
    )


def quote_paper_of(quote: Quote, *, link: str = "") -> QuotePaper:
    """Return everything a quote says; names come from the records, figures from the snapshot."""
    profile = WorkshopProfile.current()
    snapshot = quote.snapshot
    breakdown = snapshot["breakdown"]
    pieces = pieces_from_document(quote.drawings["pieces"])
    return QuotePaper(
        workshop=profile.name,
        code=quote.code,
        made_on=timezone.localtime(quote.made_at).date(),
        valid_until=quote.valid_until,
        greeting=_("Dear %(name)s") % {"name": quote.commission.customer.name},
        doll=quote.commission.doll.name,
        style=snapshot["style"]["name"],
        included=included_in(snapshot, pieces, quote.pair_count),
        currency=quote.currency,
        pair_count=quote.pair_count,
        price_per_pair=_per_pair(breakdown),
        price=Decimal(breakdown["price"]),
        tax=Decimal(breakdown["tax"]),
        tax_name=profile.tax_name,
        note=profile.quote_wording,
        accept_link=link,
        contact=profile.address,
        drawing=quoted_shoe(quote),
        drawing_caption=_("Your boot from the side, drawn to its own measures"),
        cautions=usual_cautions() + colour_caution(snapshot["hide"]),
        promise=promise_words(snapshot.get("promise")),
    )


def card_heading(doll: Doll) -> SheetHeading:
    """Return what stands at the head of a doll's measuring card: no name of its owner."""
    return SheetHeading(workshop=WorkshopProfile.current().name, doll=f"{doll.name} {doll.code}")


def included_in(snapshot: dict[str, Any], pieces: PieceSet, pair_count: int) -> tuple[str, ...]:
    """Return in plain words what the price includes."""
    hide, parameters = snapshot["hide"], pieces.parameters
    pairs = ngettext("%(n)d pair", "%(n)d pairs", pair_count) % {"n": pair_count}
    items = [
        _("%(style)s: %(pairs)s, made to this doll's own measures")
        % {"pairs": pairs, "style": snapshot["style"]["name"]},
        _("upper leather: %(leather)s, %(colour)s") % hide,
    ]
    if any(piece.material == "lining" for piece in pieces.pieces):
        light = hide.get("light_lining")
        items.append(_("lined in a light leather") if light else _("lined in leather"))
    eyelets = sum(
        piece.quantity * sum(hole.kind == "eyelet" for hole in piece.holes)
        for piece in pieces.pieces
        if piece.material == "upper"
    )
    if eyelets:
        items.append(_("%(n)d eyelets and laces") % {"n": eyelets})
    if parameters.get("boot_height_mm"):
        items.append(_("height %(mm).0f mm") % {"mm": float(parameters["boot_height_mm"])})
    return tuple(items)


def _per_pair(breakdown: dict[str, Any]) -> Decimal:
    return Decimal(breakdown["price_per_pair"])


def came_off(leather: dict[str, Any]) -> bool:
    """Return whether the rub test a quote keeps of its leather left colour on a cloth."""
    test = leather.get("rub_test")
    return test is not None and not test["dry"] == test["damp"] == "clean"


def may_rub_as_quoted(leather: dict[str, Any]) -> bool:
    """Return whether a quote was made knowing that its leather's colour may rub off."""
    return bool(leather.get("colour_may_rub")) or came_off(leather)


def colour_caution(leather: dict[str, Any]) -> tuple[str, ...]:
    """Return what a customer must know of a leather, as a quote keeps it, that may rub off."""
    test = leather.get("rub_test")
    if not may_rub_as_quoted(leather):
        return ()
    said = [
        _("The leather chosen is of a dark or bright colour that may rub off: let us line it"
          " light, and keep a sock between boot and doll."),
    ]  # fmt: skip
    if came_off(leather):
        said.append(
            _("Rubbed with a white cloth on %(on)s it left colour: ask us about another leather.")
            % test
        )
    elif test is not None:
        said.append(
            _("Rubbed with a white cloth on %(on)s, dry and damp, it left no colour; that promises"
              " nothing for months of wear.") % test
        )  # fmt: skip
    return tuple(said)
