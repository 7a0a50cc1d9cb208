"""The last's cards at true scale: to cut out and slot together by who does not hold the foot."""

from datetime import date

from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.paper import Paper
from patterns.drawing.pieces import draw_piece
from patterns.last.cards import CardSections, card_sections
from patterns.last.last import Last
from workshop.documents.card import Card, Column, write_head
from workshop.documents.heading import SheetHeading
from workshop.documents.true_sheet import block_width_mm, title_words, true_sheet_pdf

ROWS_ON_FIRST_PAGE = 26
ROWS_ON_NEXT_PAGE = 40


def last_sheet_pdf(
    last: Last,
    *,
    card_thickness_mm: float,
    spacing_mm: float,
    heading: SheetHeading,
    made_on: date,
    paper: Paper = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the slotted cards of a last as PDF at true scale; the same input, the same bytes.

    Parameters
    ----------
    last : Last
        Bare or wrapped; the sheet says which.
    card_thickness_mm, spacing_mm : float
        See `patterns.last.cards.card_sections`.
    heading : SheetHeading
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.

    Raises
    ------
    PatternError
        A thickness or spacing that cannot be slotted.
    """
    cards = card_sections(last, card_thickness_mm=card_thickness_mm, spacing_mm=spacing_mm)
    width_mm = block_width_mm(paper, heading)
    side = "left" if last.lateral_sign > 0 else "right"
    rows = _rows(cards)
    more = [
        _more_rows(rows[k : k + ROWS_ON_NEXT_PAGE], width_mm)
        for k in range(ROWS_ON_FIRST_PAGE, len(rows), ROWS_ON_NEXT_PAGE)
    ]
    return true_sheet_pdf(
        [*(draw_piece(piece, foot_side=side) for piece in cards.pieces), *more],
        heading=heading,
        paper=paper,
        title=title_words(_("Last as slotted cards"), heading.doll, heading.order_code),
        made_on=made_on,
        first_block=_first_block(last, cards, rows, heading, made_on, width_mm),
        document_id=document_id,
    )


def _first_block(
    last: Last,
    cards: CardSections,
    rows: list[tuple[str, ...]],
    heading: SheetHeading,
    made_on: date,
    width_mm: float,
) -> Drawing:
    card = Card(width_mm)
    write_head(card, _("Last as slotted cards, true scale"), heading, made_on)
    card.rule()
    for words in _words(last, cards):
        card.paragraph(words)
    card.space(2.0)
    card.table(_columns(width_mm), rows[:ROWS_ON_FIRST_PAGE])
    card.rule()
    card.paragraph(
        _(
            "Cut with a sharp blade on a cutting mat, away from the holding hand. Check the bar on"
            " every page before the first cut. Small cards and offcuts are no toys: keep them from"
            " children and animals."
        ),
        ink="quiet",
    )
    card.space(2.0)
    return card.drawing()


def _words(last: Last, cards: CardSections) -> tuple[str, ...]:
    """Return what the cards are and how they go together."""
    foot = _("left foot") if last.lateral_sign > 0 else _("right foot")
    outer = _("right") if last.lateral_sign > 0 else _("left")
    wrap = (
        _("with a wrap of {mm} mm all round").format(mm=f"{last.thickness_mm:.2f}")
        if last.thickness_mm > 0
        else _("bare, without any wrap")
    )
    return (
        _("Drawn for the {foot}, {wrap}. For the other foot turn every card over.").format(
            foot=foot, wrap=wrap
        ),
        _(
            "Card {thickness} mm thick: the slots are as wide. Try one slot in an offcut first."
            " Cross cards stand {spacing} mm apart, number 1 nearest the heel."
        ).format(thickness=f"{cards.card_thickness_mm:g}", spacing=f"{cards.spacing_mm:g}"),
        _(
            "Push each cross card down onto the lengthwise card, slot into slot, the outer side of"
            " the foot on the {outer} as seen from the toe. Then fill the gaps, or stretch film or"
            " paper strips over the edges."
        ).format(outer=outer),
    )


def _rows(cards: CardSections) -> list[tuple[str, ...]]:
    rows = []
    for piece in cards.pieces:
        across = [point[0] for point in piece.cut_mm]
        upward = [point[1] for point in piece.cut_mm]
        size = (f"{max(v) - min(v):.1f}" for v in (across, upward))
        rows.append((piece.name, *size))
    return rows


def _more_rows(rows: list[tuple[str, ...]], width_mm: float) -> Drawing:
    card = Card(width_mm)
    card.table(_columns(width_mm), rows)
    return card.drawing()


def _columns(width_mm: float) -> tuple[Column, ...]:
    return (
        Column(_("Card"), 0.0, width_mm=70.0),
        Column(_("breadth (mm)"), 105.0, "end", 30.0),
        Column(_("height (mm)"), 140.0, "end", 30.0),
    )
