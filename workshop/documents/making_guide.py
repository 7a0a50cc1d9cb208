"""The making guide: how this very pair is made, step by step, with its pieces at true scale after.

The text pages come first, numbered, with contents; the pattern sheets follow as drawn elsewhere,
at true scale. A guide for sale carries no name of a customer, a doll or an order.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from io import BytesIO

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, ByteStringObject

from patterns.drawing.drawing import Drawing
from patterns.drawing.numbered import draw_numbered
from patterns.drawing.paper import Paper
from patterns.drawing.svg import drawing_svg
from patterns.pieces.making import Making
from patterns.pieces.piece import Piece
from workshop.documents.cutting_sheet import cutting_sheet_pdf, material_words
from workshop.documents.guide_steps import guide_steps
from workshop.documents.guide_units import length_words, quantity_words
from workshop.documents.guide_values import GuidePlan, GuideStep
from workshop.documents.heading import SheetHeading, day_words
from workshop.documents.paper import paper_pdf

PIECE_ACROSS_MM, PIECE_UP_MM = 38.0, 48.0  # what the largest piece of a guide is drawn into
LARGEST_SCALE = 1.0
COVER_MM = 120.0
COVER_UP_MM = 110.0


@dataclass(frozen=True, slots=True)
class MakingGuide:
    """Everything a guide says.

    ``heading`` names workshop and style, and doll and order where the guide is not for sale;
    ``worn`` is the finished shoe as drawn, if there is such a drawing.
    """

    plan: GuidePlan
    heading: SheetHeading
    foot_length_mm: float
    worn: Drawing | None = None


def making_guide_pdf(
    guide: MakingGuide,
    *,
    made_on: date,
    paper: Paper = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the guide as PDF, the pattern sheets at its end.

    Parameters
    ----------
    guide : MakingGuide
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    steps = guide_steps(guide.plan)
    making = guide.plan.making
    scale = piece_scale(making.pieces)
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "heading": guide.heading,
        "made_on": day_words(made_on),
        "subject": guide.heading.subject,
        "size": _("for a foot {length} long").format(
            length=length_words(guide.foot_length_mm, guide.plan.units)
        ),
        "cover": _cover(guide),
        "steps": [_shown(step, making, scale) for step in steps],
        "scale": _scale_words(scale),
        "materials": _materials(guide.plan),
        "piece_rows": _piece_rows(making, guide.plan),
        "times": _times(steps),
        "hands": _minutes(sum(step.hands_min for step in steps)),
        "waiting": _minutes(sum(step.waiting_min for step in steps)),
        "tools": _tools(guide.plan, making),
    }
    text = paper_pdf("documents/making_guide.html", context, made_on=made_on)
    sheets = cutting_sheet_pdf(
        guide.plan.pieces, heading=guide.heading, made_on=made_on, paper=paper
    )
    return _bound(text, sheets, document_id)


def piece_scale(pieces: Sequence[Piece]) -> float:
    """Return at what scale every piece fits its place, the largest just so."""
    largest = LARGEST_SCALE
    for piece in pieces:
        xs, ys = zip(*piece.cut_mm, strict=True)
        largest = min(
            largest,
            PIECE_ACROSS_MM / max(1e-9, max(xs) - min(xs)),
            PIECE_UP_MM / max(1e-9, max(ys) - min(ys)),
        )
    return largest


@dataclass(frozen=True, slots=True)
class _ShownPiece:
    """A piece beside a step: its drawing and what stands under it."""

    name: str
    count: str
    drawing: SafeString


@dataclass(frozen=True, slots=True)
class _ShownStep:
    """A step as the template writes it."""

    step: GuideStep
    pieces: tuple[_ShownPiece, ...]
    hands: str
    waiting: str


def _shown(step: GuideStep, making: Making, scale: float) -> _ShownStep:
    pieces = tuple(
        _ShownPiece(
            piece.name,
            _copies(piece),
            _svg(
                draw_numbered(piece, making.numbers_on(piece.name), scale=scale), title=piece.name
            ),
        )
        for piece in step.pieces
    )
    return _ShownStep(
        step,
        pieces,
        _minutes(step.hands_min) if step.hands_min else "",
        _minutes(step.waiting_min) if step.waiting_min else "",
    )


def _svg(drawing: Drawing, *, title: str, fit_width_mm: float | None = None) -> SafeString:
    # Our own writer escapes every word.
    return mark_safe(drawing_svg(drawing, title=title, fit_width_mm=fit_width_mm))


def _cover(guide: MakingGuide) -> SafeString | None:
    if guide.worn is None:
        return None
    size = guide.worn.extents
    width_mm = min(COVER_MM, COVER_UP_MM * size.width_mm / max(1e-9, size.height_mm))
    return _svg(guide.worn, title=_("The finished shoe from its outer side"), fit_width_mm=width_mm)


def _scale_words(scale: float) -> str:
    return _("1 : {times}").format(times=f"{1.0 / scale:.1f}".removesuffix(".0"))


def _copies(piece: Piece) -> str:
    return ngettext("{n} a pair", "{n} a pair", piece.quantity).format(n=piece.quantity)


def _minutes(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return _("{n} min").format(n=rest)
    if not rest:
        return _("{h} h").format(h=hours)
    return _("{h} h {n} min").format(h=hours, n=rest)


def _materials(plan: GuidePlan) -> list[tuple[str, str]]:
    """Return what the bill counts of each material; leather as the pieces' own area."""
    return [
        (line.name, quantity_words(line.quantity, line.unit, plan.units))
        for line in plan.bill
        if line.key != "box"
    ]


def _piece_rows(making: Making, plan: GuidePlan) -> list[tuple[str, str, str, str]]:
    rows = []
    for piece in making.pieces:
        xs, ys = zip(*piece.cut_mm, strict=True)
        across, up = (length_words(max(v) - min(v), plan.units) for v in (xs, ys))
        mirrored = _("either") if piece.mirror_free else str(piece.mirrored_quantity)
        rows.append(
            (
                piece.name,
                material_words(piece.material),
                _("{n}, of these mirrored: {m}").format(n=piece.quantity, m=mirrored),
                f"{across} × {up}",
            )
        )
    return rows


def _times(steps: Sequence[GuideStep]) -> list[tuple[str, str, str]]:
    return [
        (
            step.title,
            _minutes(step.hands_min) if step.hands_min else "",
            _minutes(step.waiting_min) if step.waiting_min else "",
        )
        for step in steps
        if step.hands_min or step.waiting_min
    ]


def _tools(plan: GuidePlan, making: Making) -> list[str]:
    """Return the tools this pair takes; common practice, no source."""
    tools = [
        _("cutting mat, sharp knife with spare blades, steel rule"),
        _("last, or the doll's foot wrapped in film; paper and felt for a mock-up"),
        _("skiving knife, bone folder, small smooth hammer"),
        _("glue and brush, clips, tape"),
        _("lasting pliers or strong tweezers"),
    ]
    if plan.way == "glue":
        tools.append(_("roller to press glued seams"))
    elif plan.way == "hand stitch":
        tools.append(_("pricking iron or awl, two blunt needles, waxed thread"))
    else:
        tools.append(_("sewing machine with a leather needle"))
    if making.eyelets or making.hooks:
        tools.append(_("hole punch and eyelet setter for the sizes of step “Holes and eyelets”"))
    if making.soles and not plan.has("leather_sole"):
        tools.append(_("roller, tile, baking paper, oven with a thermometer inside"))
    return tools


def _bound(text: bytes, sheets: bytes, document_id: bytes | None) -> bytes:
    """Return both files as one, with the first one's title, language and wish not to be scaled."""
    first = PdfReader(BytesIO(text))
    writer = PdfWriter(clone_from=first)
    writer.append(BytesIO(sheets), import_outline=False)
    if document_id is not None:
        writer._ID = ArrayObject([ByteStringObject(document_id), ByteStringObject(document_id)])
    output = BytesIO()
    writer.write(output)
    return output.getvalue()


def heading_for_sale(heading: SheetHeading) -> SheetHeading:
    """Return a heading without the names of doll and order, as a guide for sale carries none."""
    return replace(heading, doll="", foot_version="", order_code="", corrections=())
