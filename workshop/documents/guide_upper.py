"""The steps of a making guide up to the closed upper."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.pieces.making import Join, Making
from workshop.documents.guide_units import thickness_words
from workshop.documents.guide_values import (
    GuidePlan,
    GuideStep,
    glue_caution,
    mm_words,
    named_pieces,
    needs,
)


def cut_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe cutting: sheets checked, a try in paper, then leather."""
    yield GuideStep(
        "cut",
        _("Print, check and cut"),
        (
            _(
                "Print the pattern sheets at 100 % and measure the bar of 100 mm on every page"
                " before anything is cut. Cut one shoe from paper or felt, try it on the foot, and"
                " go on only when it fits."
            ),
            _(
                "Go over the leather by eye and hand, keep off scars and soft places, and lay each"
                " piece with its arrow along the way that stretches least. Pieces marked mirrored"
                " are turned over for the other foot. Mark with a pen that vanishes or a fine"
                " awl; cut on the wide line."
            ),
        ),
        pieces=making.pieces,
        cautions=(
            _("Blades: cut on a mat, away from the hand that holds, along a steel rule where the"
              " line is straight; change a dull blade, cover it when it lies down."),
            _("Small offcuts and eyelets can be swallowed: keep children and animals away from the"
              " table."),
        ),
        needs=needs(plan, "upper", "lining", "card", "sole"),
    )  # fmt: skip


def prepare_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe edges thinned and turned."""
    if not making.thinned:
        return
    rows = tuple(
        (
            edge.piece,
            edge.edge,
            mm_words(plan, edge.width_mm),
            _("turn over") if edge in making.turned else _("thin only"),
            str(edge.notches) if edge.notches else "–",
        )
        for edge in making.thinned
    )
    yield GuideStep(
        "prepare",
        _("Thin and turn the edges"),
        (
            _(
                "Thin the edges of the table on the flesh side over their whole width, down to"
                " about half; a turned edge to a third where it folds. Where notches are drawn, cut"
                " them into the allowance only, never up to the fold."
            ),
            _(
                "Brush a thin line of glue on the turned edges, let it get tacky, fold along the"
                " finished line and tap it flat with a smooth hammer."
            ),
        ),
        rows=rows,
        heads=(_("piece"), _("edge"), _("width"), _("what"), _("notches")),
        cautions=(
            _("Leather dust from sanding or skiving by machine is harmful to breathe: catch it at"
              " its source, wear a mask, wipe up wet."),
            glue_caution(),
        ),
    )  # fmt: skip


def _way_words(plan: GuidePlan) -> str:
    if plan.way == "hand stitch":
        return _(
            "Prick the stitch lines, then sew with two needles and waxed thread, saddle stitch, two"
            " stitches back at either end."
        )
    if plan.way == "glue":
        return _(
            "Brush glue on both faces, let them get tacky, lay the edges on their marks and press;"
            " what is once stuck cannot be moved."
        )
    return _(
        "Sew on the stitch lines, the thread's ends drawn through to the back and tied; try length"
        " and tension on an offcut first."
    )


def _join_rows(plan: GuidePlan, joins: Sequence[Join]) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            str(join.number),
            f"{join.a.piece}, {join.a.edge}",
            f"{join.b.piece}, {join.b.edge}",
            _("overlap") if join.is_lap else _("seam"),
            mm_words(plan, join.length_mm),
        )
        for join in joins
    )


def _join_heads() -> tuple[str, ...]:
    return (_("no."), _("this edge"), _("to this edge"), _("how"), _("length"))


def join_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe the upper joined by its numbers."""
    joins = making.joins_of("upper")
    if not joins and not making.set_on:
        return
    paragraphs = [
        _(
            "Join the upper in the order of the numbers; the same numbers stand at the edges of the"
            " drawn pieces. What overlaps is joined while it lies flat; the seams that close the"
            " round come last. Both edges of a join are equally long: if one is left over, go back"
            " to the notches and marks."
        ),
        _way_words(plan),
    ]
    if any(not join.is_lap for join in joins):
        paragraphs.append(
            _("Open the seams, glue their allowances apart and tap them flat over a rounded edge.")
        )
    if making.set_on:
        paragraphs.append(
            _("Then set on along its marks: {pieces}.").format(
                pieces=", ".join(piece.name for piece in making.set_on)
            )
        )
    names = {name.piece for join in joins for name in (join.a, join.b)}
    names |= {piece.name for piece in making.set_on}
    yield GuideStep(
        "join",
        _("Join the upper"),
        tuple(paragraphs),
        rows=_join_rows(plan, joins),
        heads=_join_heads() if joins else (),
        pieces=named_pieces(making, names),
        cautions=(
            (glue_caution(),)
            if plan.way == "glue"
            else (_("Needles and awls: push away from the fingers, count the needles, leave none in"
                    " the work."),)
        ),
        needs=needs(plan, "thread"),
    )  # fmt: skip


def line_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe lining, stiffening and tongue."""
    names = {
        piece.name
        for piece in making.pieces
        if piece.material == "lining" and piece is not making.sock
    }
    if not names and not making.stiffeners and making.tongue is None:
        return
    joins = making.joins_of("lining")
    paragraphs = []
    if making.stiffeners:
        paragraphs.append(
            _(
                "Glue the stiffening cards between upper and lining, their thinned edges towards"
                " the upper: {pieces}."
            ).format(pieces=", ".join(piece.name for piece in making.stiffeners))
        )
    if names:
        paragraphs.append(
            _(
                "Close the lining by its numbers, lay it into the upper flesh to flesh, a little"
                " behind the topline, and stitch or glue it along the edges; tapes lie under the"
                " rows of holes. At the lasting edge upper and lining stay loose."
            )
        )
    if making.tongue is not None:
        paragraphs.append(
            _(
                "Set the tongue under the front on its overlap, in the middle, and sew it across;"
                " its sides stay free."
            )
        )
        names = names | {making.tongue.name}
    names |= {piece.name for piece in making.stiffeners}
    yield GuideStep(
        "join",
        _("Lining, stiffening and tongue"),
        tuple(paragraphs),
        rows=_join_rows(plan, joins),
        heads=_join_heads() if joins else (),
        pieces=named_pieces(making, names),
        cautions=(glue_caution(),),
    )


def eyelets_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe holes and eyelets, where there are any."""
    if not making.eyelets and not making.hooks:
        return
    parts = []
    if making.eyelets:
        parts.append(ngettext("{n} eyelet", "{n} eyelets", making.eyelets).format(n=making.eyelets))
    if making.hooks:
        parts.append(ngettext("{n} hook", "{n} hooks", making.hooks).format(n=making.hooks))
    sizes = ", ".join(thickness_words(size, plan.units) for size in making.hole_diameters_mm)
    yield GuideStep(
        "eyelets",
        _("Holes and eyelets"),
        (
            _(
                "Punch the holes on their cross hairs through upper, tape and lining: {parts} a"
                " pair, holes {sizes} across. Set one eyelet in an offcut of the same layers"
                " first: it must roll over without splitting, and not turn."
            ).format(parts=_(" and ").join(parts), sizes=sizes),
        ),
        cautions=(
            _("Punch on a block of wood or plastic, the tool upright, fingers away; wear glasses"
              " when you strike metal."),
        ),
        needs=needs(plan, "eyelets", "hooks"),
    )  # fmt: skip
