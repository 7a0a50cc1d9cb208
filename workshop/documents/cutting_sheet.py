"""The cutting sheet: every piece at true scale on A4 or Letter, with a table of the pieces."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.paper import Paper
from patterns.drawing.pieces import face_words, labelled_pieces, turned_over
from patterns.pieces.piece import Material, Message, Piece, PieceSet
from workshop.documents.card import Card, Column, write_corrections, write_head, write_line_legend
from workshop.documents.heading import SheetHeading
from workshop.documents.true_sheet import (
    block_width_mm,
    title_words,
    true_sheet_count,
    true_sheet_pdf,
)

# So many rows leave room for head, legend and cautions on the first page of either paper.
ROWS_ON_FIRST_PAGE = 26
ROWS_ON_NEXT_PAGE = 40
MESSAGES_SHOWN = 6


def cutting_sheet_pdf(
    piece_set: PieceSet,
    *,
    heading: SheetHeading,
    made_on: date,
    paper: Paper = "A4",
    flesh_up: bool = False,
    card_templates: bool = False,
    document_id: bytes | None = None,
) -> bytes:
    """Return the cutting sheet of a piece set as PDF; the same input gives the same bytes.

    Parameters
    ----------
    piece_set : PieceSet
    heading : SheetHeading
    made_on : date
    paper : "A4" or "Letter"
    flesh_up : bool
        Draw the pieces of upper leather turned over, for marking on its flesh side; each page
        says so.
    card_templates : bool
        The sheet is of insole, outsole and stiffeners alone, to be glued on card and kept.
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    if flesh_up:
        piece_set = turned_over(piece_set)
    kind = _("Card templates") if card_templates else _("Cutting sheet")
    drawings, first = _drawn(piece_set, heading, made_on, paper, kind=kind, flesh_up=flesh_up)
    return true_sheet_pdf(
        drawings,
        heading=heading,
        paper=paper,
        title=_title(kind, heading),
        made_on=made_on,
        first_block=first,
        banner=flesh_words() if flesh_up else "",
        document_id=document_id,
    )


def sheet_count(
    piece_set: PieceSet, *, heading: SheetHeading, made_on: date, paper: Paper = "A4"
) -> int:
    """Return how many pages the cutting sheet takes."""
    kind = _("Cutting sheet")
    drawings, first = _drawn(piece_set, heading, made_on, paper, kind=kind)
    return true_sheet_count(
        drawings, heading=heading, paper=paper, title=_title(kind, heading), first_block=first
    )


def flesh_words() -> str:
    """Return the large words of every sheet that is turned over."""
    return _("FLESH SIDE UP – turned over")


def _drawn(
    piece_set: PieceSet,
    heading: SheetHeading,
    made_on: date,
    paper: Paper,
    *,
    kind: str,
    flesh_up: bool = False,
) -> tuple[list[Drawing], Drawing]:
    """Return the pieces with the rows that found no room, and the head of the first page."""
    width_mm = block_width_mm(paper, heading)
    pieces = piece_set.pieces
    first = _first_block(
        piece_set,
        pieces[:ROWS_ON_FIRST_PAGE],
        heading,
        made_on,
        width_mm,
        kind=kind,
        flesh_up=flesh_up,
    )
    more = [
        _more_rows(pieces[k : k + ROWS_ON_NEXT_PAGE], piece_set, width_mm)
        for k in range(ROWS_ON_FIRST_PAGE, len(pieces), ROWS_ON_NEXT_PAGE)
    ]
    return [*labelled_pieces(piece_set), *more], first


def _title(kind: str, heading: SheetHeading) -> str:
    return title_words(kind, heading.style, heading.doll, heading.order_code)


def _first_block(
    piece_set: PieceSet,
    pieces: Sequence[Piece],
    heading: SheetHeading,
    made_on: date,
    width_mm: float,
    *,
    kind: str,
    flesh_up: bool,
) -> Drawing:
    card = Card(width_mm)
    write_head(card, _("{kind}, true scale").format(kind=kind), heading, made_on)
    card.rule()
    if flesh_up:
        card.paragraph(
            _(
                "For marking on the flesh side: lay the leather with its grain down. The pieces of"
                " upper leather are drawn as seen from the back; a piece marked on the grain by"
                " this sheet comes out for the other foot."
            ),
            face="bold",
            ink="accent",
        )
        card.space(2.0)
    write_corrections(card, heading)
    _write_messages(card, piece_set.messages)
    card.table(_columns(width_mm), [_row(piece, piece_set) for piece in pieces])
    write_line_legend(card)
    if piece_set.foot_side == "pair":
        card.rule()
        card.paragraph(_pair_words(heading))
        card.space(1.6)
    _write_cautions(card)
    card.space(2.0)
    return card.drawing()


def _more_rows(pieces: Sequence[Piece], piece_set: PieceSet, width_mm: float) -> Drawing:
    card = Card(width_mm)
    card.table(_columns(width_mm), [_row(piece, piece_set) for piece in pieces])
    return card.drawing()


def _columns(width_mm: float) -> tuple[Column, ...]:
    return (
        Column(_("Piece"), 0.0, width_mm=44.0),
        Column(_("as drawn"), 62.0, "end", 18.0),
        Column(_("mirrored"), 80.0, "end", 17.0),
        Column(_("material"), 88.0, width_mm=30.0),
        Column(_("face up"), 120.0, width_mm=28.0),
        Column(_("tight way"), width_mm, "end", 40.0),
    )


def _row(piece: Piece, piece_set: PieceSet) -> tuple[str, ...]:
    free = piece.mirror_free and piece_set.foot_side == "pair"
    drawn = piece.quantity - (0 if free else piece.mirrored_quantity)
    return (
        piece.name,
        str(drawn),
        _("either") if free else str(piece.mirrored_quantity),
        material_words(piece.material),
        face_words(piece),
        _("along the arrow, ±{degrees}°").format(degrees=f"{piece.rotation_tolerance_deg:g}"),
    )


def material_words(material: Material) -> str:
    """Return what a piece is cut from."""
    return {
        "upper": _("upper leather"),
        "lining": _("lining"),
        "card": _("card"),
        "sole": _("sole"),
    }[material]


def _write_messages(card: Card, messages: Sequence[Message]) -> None:
    """Write what must be known before cutting; a stop first and in bold."""
    ranked = sorted(
        (message for message in messages if message.level != "info"),
        key=lambda message: message.level != "stop",
    )
    for message in ranked[:MESSAGES_SHOWN]:
        stop = message.level == "stop"
        word = _("Stop, do not cut") if stop else _("Before cutting")
        piece = f" ({message.piece})" if message.piece else ""
        card.paragraph(
            f"{word}{piece}: {message.text}", face="bold" if stop else "sans", ink="accent"
        )
    if ranked:
        card.space(2.0)


def _pair_words(heading: SheetHeading) -> str:
    """Return which foot the pieces are drawn for, and what mirrored means."""
    if heading.drawn_foot == "right":
        return _(
            "As drawn is for the right foot. For the left foot turn the pattern over: mirrored."
        )
    if heading.drawn_foot == "left":
        return _(
            "As drawn is for the left foot. For the right foot turn the pattern over: mirrored."
        )
    return _(
        "As drawn is for the foot that was measured. For the other foot turn the pattern over:"
        " mirrored."
    )


def _write_cautions(card: Card) -> None:
    card.rule()
    card.paragraph(
        _(
            "Cut with a sharp blade on a cutting mat, away from the holding hand, along a steel"
            " rule where the line is straight. Check the bar on every page before the first cut;"
            " try the pieces in paper or felt before cutting leather."
        ),
        ink="quiet",
    )
