"""The quote a customer gets: one value, shown as a paper and as text for a mail."""

import textwrap
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.svg import drawing_svg
from workshop.documents.heading import day_words, money_words
from workshop.documents.paper import paper_pdf

MAIL_COLUMNS = 72
DRAWING_WIDTH_MM = 78.0
DRAWING_HEIGHT_MM = 92.0
LEAST_SHRINK = 0.7  # words of 3.2 mm are then 2.2 mm, the smallest print of the paper


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """Everything a quote says; paper and text are both made from this one value.

    ``price`` is what the customer pays in all, ``tax`` the tax in it. ``greeting`` is the whole
    salutation, such as "Dear Ada". ``accept_link`` is left empty where there is none to send.
    ``promise`` is the sentence that says when it is ready and on what that hangs.
    """

    workshop: str
    code: str
    made_on: date
    valid_until: date
    greeting: str
    doll: str
    style: str
    included: tuple[str, ...]
    currency: str
    pair_count: int
    price_per_pair: Decimal
    price: Decimal
    tax: Decimal = Decimal("0.00")
    tax_percent: Decimal | None = None
    tax_name: str = ""
    extra_lines: tuple[tuple[str, Decimal], ...] = ()
    note: str = ""
    accept_link: str = ""
    contact: str = ""
    drawing: Drawing | None = None
    drawing_caption: str = ""
    cautions: tuple[str, ...] = ()
    promise: str = ""


def usual_cautions() -> tuple[str, ...]:
    """Return the cautions every quote carries unless others are given."""
    return (
        _("Small parts: shoes, eyelets and lace ends can be swallowed. Keep away from children"
          " under 3 years."),
        _("Made for a collector's doll. Not assessed as a toy, so please do not give it to a"
          " child as one."),
        _("Leather colour can rub off on vinyl, resin and cloth. Try it on a hidden spot first"
          " and do not leave the shoes on the doll for months."),
    )  # fmt: skip


def price_rows(quote: QuotePaper) -> tuple[tuple[str, str], ...]:
    """Return the priced lines of the quote, the last being what the customer pays in all."""
    money = quote.currency
    pairs = ngettext("{n} pair", "{n} pairs", quote.pair_count).format(n=quote.pair_count)
    rows = [(_("price per pair"), money_words(quote.price_per_pair, money))]
    rows += [(name, money_words(amount, money)) for name, amount in quote.extra_lines]
    rows.append((_("{pairs}, total").format(pairs=pairs), money_words(quote.price, money)))
    return tuple(rows)


def tax_words(quote: QuotePaper) -> str:
    """Return the tax line: how much is in the total, or that none is."""
    if not quote.tax:
        return _("No tax is added.")
    name = quote.tax_name or _("tax")
    share = "" if quote.tax_percent is None else f"{quote.tax_percent.normalize():f} % "
    return _("The total includes {share}{name}: {amount}.").format(
        share=share, name=name, amount=money_words(quote.tax, quote.currency)
    )


def accept_words(quote: QuotePaper) -> str:
    """Return how to say yes, by link or by answering."""
    until = day_words(quote.valid_until)
    if quote.accept_link:
        return _("To accept, open {link} by {day}.").format(link=quote.accept_link, day=until)
    return _("To accept, answer this letter by {day} and name quote {code}.").format(
        day=until, code=quote.code
    )


def _intro(quote: QuotePaper) -> str:
    return _("Here is our quote for {style} for {doll}.").format(
        style=quote.style, doll=quote.doll or _("your doll")
    )


def quote_pdf(
    quote: QuotePaper,
    *,
    paper: Literal["A4", "Letter"] = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the quote as a PDF paper; the same quote gives the same bytes."""
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "quote": quote,
        "made_on": day_words(quote.made_on),
        "valid_until": day_words(quote.valid_until),
        "intro": _intro(quote),
        "rows": price_rows(quote),
        "tax": tax_words(quote),
        "accept": accept_words(quote),
        "cautions": quote.cautions or usual_cautions(),
        "drawing": _drawing(quote),
    }
    return paper_pdf(
        "documents/quote.html", context, made_on=quote.made_on, document_id=document_id
    )


def _drawing(quote: QuotePaper) -> SafeString:
    if quote.drawing is None:
        return mark_safe("")
    box = quote.drawing.extents.grown(1.0)
    width = min(DRAWING_WIDTH_MM, DRAWING_HEIGHT_MM * box.width_mm / box.height_mm)
    svg = drawing_svg(
        _readable(quote.drawing, width / box.width_mm),
        title=quote.drawing_caption or quote.style,
        fit_width_mm=width,
        own_colours=True,
    )
    # The writer escapes every word and makes no element but lines, fills and text.
    return mark_safe(svg)


def _readable(drawing: Drawing, shrunk: float) -> Drawing:
    """Return the drawing without the words, and what points at them, that come out too small."""
    if shrunk >= LEAST_SHRINK:
        return drawing
    lines = tuple(s for s in drawing.strokes if s.kind not in ("leader", "tight way"))
    return Drawing(lines, drawing.fills, scale=drawing.scale)


def quote_text(quote: QuotePaper) -> str:
    """Return the quote as plain text to copy into a mail, lines at most 72 signs but links."""
    blocks = [
        f"{quote.workshop}\n" + _("Quote {code}, {day}").format(
            code=quote.code, day=day_words(quote.made_on)
        ),
        f"{quote.greeting},\n\n" + _filled(_intro(quote)),
        _("Included:") + "\n" + "\n".join(_filled(item, bullet=True) for item in quote.included),
        _aligned(price_rows(quote)) + "\n" + _filled(tax_words(quote)),
        _filled(quote.promise),
        _filled(_("Valid until {day}.").format(day=day_words(quote.valid_until))),
        _filled(quote.note),
        _filled(accept_words(quote)),
        _("Please note:") + "\n"
        + "\n".join(_filled(item, bullet=True) for item in quote.cautions or usual_cautions()),
        "\n".join(part for part in (quote.workshop, quote.contact) if part),
    ]  # fmt: skip
    return "\n\n".join(block for block in blocks if block) + "\n"


def _filled(text: str, *, bullet: bool = False) -> str:
    first, rest = ("- ", "  ") if bullet else ("", "")
    return textwrap.fill(
        text.replace("\u00a0", "\uffff"),
        MAIL_COLUMNS,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    ).replace("\uffff", "\u00a0")


def _aligned(rows: tuple[tuple[str, str], ...]) -> str:
    """Return rows of name and amount with the amounts ending in one column."""
    names = max(len(name) for name, _amount in rows)
    amounts = max(len(amount) for _name, amount in rows)
    return "\n".join(f"{name:<{names}}  {amount:>{amounts}}" for name, amount in rows)
