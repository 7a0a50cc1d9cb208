"""The try-on sheet: an insole to stand the foot on, and strips whose marks must meet."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.paper import Paper
from patterns.drawing.pieces import draw_piece
from patterns.drawing.strips import draw_strip
from patterns.pieces.piece import PieceSet
from patterns.try_on import INSOLE, SCALE_MM, TOPLINE, Strip
from workshop.documents.card import Card, Column, write_head
from workshop.documents.heading import SheetHeading
from workshop.documents.true_sheet import block_width_mm, title_words, true_sheet_pdf


def try_on_sheet_pdf(
    piece_set: PieceSet,
    strips: Sequence[Strip],
    *,
    heading: SheetHeading,
    made_on: date,
    paper: Paper = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the try-on sheet as PDF at true scale; the same input gives the same bytes.

    Parameters
    ----------
    piece_set : PieceSet
        Its insole is drawn, if it has one.
    strips : sequence of Strip
    heading : SheetHeading
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    insoles = [piece for piece in piece_set.pieces if piece.name == INSOLE]
    drawings = [
        *(draw_piece(piece, foot_side=piece_set.foot_side) for piece in insoles),
        *(draw_strip(strip, strip_words(strip)) for strip in strips),
    ]
    width_mm = block_width_mm(paper, heading)
    return true_sheet_pdf(
        drawings,
        heading=heading,
        paper=paper,
        title=title_words(_("Try-on sheet"), heading.doll, heading.order_code),
        made_on=made_on,
        first_block=_first_block(strips, heading, made_on, width_mm, has_insole=bool(insoles)),
        document_id=document_id,
    )


def strip_words(strip: Strip) -> str:
    """Return what a strip goes round."""
    if strip.key == TOPLINE:
        return _("topline, %(mm)s mm above the ground") % {"mm": f"{strip.height_mm:.0f}"}
    return {
        "ball_girth": _("ball"),
        "instep_girth": _("instep"),
        "heel_instep_girth": _("heel and instep"),
        "ankle_girth": _("ankle"),
        "calf_girth": _("calf"),
    }[strip.key]


def _first_block(
    strips: Sequence[Strip],
    heading: SheetHeading,
    made_on: date,
    width_mm: float,
    *,
    has_insole: bool,
) -> Drawing:
    card = Card(width_mm)
    write_head(card, _("Try-on sheet, true scale"), heading, made_on)
    card.rule()
    words = [
        _("Print at 100 %, measure the bar of 100 mm, and cut out along the wide lines."),
        _(
            "Lay each strip round the bare foot where its name says, as close as the shoe shall"
            " sit. Its plain end comes to lie on the scale: at 0 the two meet. Beyond the 0"
            " (+) the strip is short, before it (−) it is over. Write down how many mm; %(most)d"
            " are shown, more means that the foot should be measured anew."
        )
        % {"most": SCALE_MM},
    ]
    if has_insole:
        words.append(
            _("Stand the foot on the insole: write down by how much its toe passes the paper (+)"
              " or falls short of it (−).")
        )  # fmt: skip
    for text in words:
        card.paragraph(text)
        card.space(1.0)
    card.space(1.5)
    rows = [(strip_words(strip), f"{strip.girth_mm:.1f}", "", "") for strip in strips]
    if has_insole:
        rows.append((_("insole, heel to toe"), "", "", ""))
    card.table(_columns(width_mm), rows)
    card.space(2.0)
    return card.drawing()


def _columns(width_mm: float) -> tuple[Column, ...]:
    return (
        Column(_("Round the foot at"), 0.0, width_mm=62.0),
        Column(_("strip, mm"), 84.0, "end", 22.0),
        Column(_("meets at 0"), 112.0, "end", 26.0),
        Column(_("or: short (+) or over (−) by, mm"), width_mm, "end", 60.0),
    )
