"""The mock-up sheet: pieces to cut from paper or felt first, and what to look at on the foot."""

from datetime import date

from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing
from patterns.drawing.paper import Paper
from patterns.drawing.pieces import draw_piece
from patterns.pieces.piece import GirthClosure, Piece, PieceSet
from workshop.documents.card import Card, Column, write_corrections, write_head, write_line_legend
from workshop.documents.heading import SheetHeading
from workshop.documents.true_sheet import block_width_mm, title_words, true_sheet_pdf

# A mock-up is of the upper and what it stands on; linings and soles come once it fits.
MOCK_UP_MATERIALS = ("upper", "card")


def mock_up_sheet_pdf(
    piece_set: PieceSet,
    *,
    heading: SheetHeading,
    made_on: date,
    paper: Paper = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the mock-up sheet as PDF at true scale; the same input gives the same bytes.

    Parameters
    ----------
    piece_set : PieceSet
    heading : SheetHeading
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    width_mm = block_width_mm(paper, heading)
    return true_sheet_pdf(
        [draw_piece(piece, foot_side=piece_set.foot_side) for piece in mock_up_pieces(piece_set)],
        heading=heading,
        paper=paper,
        title=title_words(_("Mock-up"), heading.style, heading.doll, heading.order_code),
        made_on=made_on,
        first_block=_first_block(piece_set, heading, made_on, width_mm),
        document_id=document_id,
    )


def mock_up_pieces(piece_set: PieceSet) -> tuple[Piece, ...]:
    """Return the pieces a mock-up needs."""
    return tuple(piece for piece in piece_set.pieces if piece.material in MOCK_UP_MATERIALS)


def _first_block(
    piece_set: PieceSet, heading: SheetHeading, made_on: date, width_mm: float
) -> Drawing:
    card = Card(width_mm)
    write_head(card, _("Mock-up and try-on sheet, true scale"), heading, made_on)
    card.rule()
    card.paragraph(
        _(
            "Cut one shoe from paper, felt or thin foam of the leather's thickness, tape or tack it"
            " together on the foot, lace it, and write down below what is short or long. Change"
            " the measures or the pattern and print again before leather is cut."
        )
    )
    card.space(1.5)
    write_corrections(card, heading)
    if piece_set.girth_closure:
        card.table(_closure_columns(width_mm), [_closure(g) for g in piece_set.girth_closure])
    else:
        card.rule()
    for question in _questions():
        card.space(6.2)
        card.write(question, width_mm=width_mm)
        card.space(1.4)
        card.rule()
    write_line_legend(card)
    card.space(1.0)
    return card.drawing()


def _closure_columns(width_mm: float) -> tuple[Column, ...]:
    return (
        Column(_("Round the foot at"), 0.0, width_mm=50.0),
        Column(_("foot with sock, mm"), 86.0, "end", 34.0),
        Column(_("pieces, mm"), 118.0, "end", 26.0),
        Column(_("short or long, mm"), 152.0, "end", 32.0),
        Column(_("found on the foot"), width_mm, "end", 32.0),
    )


def _closure(girth: GirthClosure) -> tuple[str, ...]:
    off = girth.pattern_mm - girth.last_mm
    said = _("meets") if abs(off) < 0.05 else f"{off:+.1f}".replace("-", "−")
    return (
        _station_words(girth.station),
        f"{girth.last_mm:.1f}",
        f"{girth.pattern_mm:.1f}",
        said,
        "",
    )


def _station_words(station: str) -> str:
    return {
        "ball": _("ball"),
        "instep": _("instep"),
        "heel_instep": _("heel and instep"),
        "ankle": _("ankle"),
        "calf": _("calf"),
    }.get(station, station.replace("_", " "))


def _questions() -> tuple[str, ...]:
    return (
        _("Topline: gapes or pinches, where, how many mm"),
        _("Facings: gap between them when laced, top and bottom, mm"),
        _("Toe: room in front of and above the toes, mm"),
        _("Back seam: stands off or pulls, at what height, mm"),
    )
