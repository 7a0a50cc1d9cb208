"""draft_pieces: from a foot and a style to all pieces of a pair, cut from the last's surface."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from patterns.checks import check_pieces
from patterns.drafting.assemble import net_edges, piece_from
from patterns.drafting.bottom import Margin, Sole, bottom_pieces
from patterns.drafting.curves import curve_values
from patterns.drafting.edges import NamedRun
from patterns.drafting.entry import TOPLINE, Opening, entry_levels
from patterns.drafting.extras import loop_piece, toe_form_pieces, tongue_under
from patterns.drafting.fastenings import strap_pieces, way_over, with_strap_marks, zip_guards
from patterns.drafting.features import tape_along, with_eyelets
from patterns.drafting.fields import fields_of_last
from patterns.drafting.fit_report import bulk_messages, fit_messages, measured_seams
from patterns.drafting.girths import girth_closures, girth_functions
from patterns.drafting.lasting import gathered, lasting_margin_mm
from patterns.drafting.lay_flat import FlatPart, lay_flat
from patterns.drafting.layers import parts_of_layer
from patterns.drafting.plan import LAYERS, Plan, plan_draft
from patterns.foot import Foot
from patterns.last import Last, wrapped
from patterns.last.last import FloatArray
from patterns.pieces.eyelets import EyeletRow
from patterns.pieces.piece import EntryLevel, Lasting, Message, Piece, PieceSet
from patterns.style import Style
from patterns.style_lines import Feature

ENGINE = "surface 6"


def _silent(step: str) -> None:
    """Take no notice of a step."""


def draft_pieces(
    foot: Foot,
    style: Style,
    values: Mapping[str, str | float | bool],
    *,
    corrections: Mapping[str, float] | None = None,
    last: Last | None = None,
    progress: Callable[[str], None] = _silent,
) -> PieceSet:
    """Return all pieces of a style for a foot, cut from the surface of its last and laid flat.

    Parameters
    ----------
    foot : Foot
        The foot, from measures, tracings or a mesh.
    style : Style
        A style whose method is ``surface``.
    values : mapping
        Parameters by key as `Style.values` gives them; missing ones take their defaults.
    corrections : mapping of str to float, optional
        What the maker has learnt, in mm: ``girth:<measure>`` makes a girth longer,
        ``curve:<curve>`` moves a line towards greater values of its field.
    last : Last, optional
        The foot's bare last if it is known, at least `reach_mm` high; built anew if left out.
    progress : callable, optional
        Called with a few words before each longer step; what it raises ends the draft.

    Returns
    -------
    PieceSet
        Pieces for one pair, seams, girths, lasting, messages.

    Raises
    ------
    StyleError
        A parameter or line that this foot leaves no room for.
    FootError
        Measures, tracings or a mesh that cannot be used.
    """
    progress("the last")
    plan = plan_draft(foot, style, values, corrections=corrections, last=last)
    sole = Sole(wrapped(plan.last, plan.inside_mm), plan.landmarks["feather_mm"])
    cut = _cut_pieces(plan, sole, progress)
    pieces, row, said = _with_features(plan, cut.pieces, sole)
    uppers = [flat for flat in cut.flats if flat.part.region.layer == "upper"]
    last = plan.layer_last("upper")
    functions = girth_functions(last, last.points_mm, plan.levels_mm())
    closures = girth_closures(last, functions, uppers)
    entry = _entry(plan, last, uppers)
    messages = fit_messages(plan, pieces, closures, cut.lasting, row, entry)
    drafted = PieceSet(
        style=style.name,
        foot=foot.name,
        foot_side="pair",
        engine=ENGINE,
        parameters=plan.values,
        source_kind=plan.last.source_kind,
        measures=plan.last.measures,
        girth_closure=tuple(closures),
        lasting=tuple(cut.lasting),
        seams=tuple(measured_seams(pieces)),
        messages=(*messages, *said, *bulk_messages(pieces, plan.landmarks)),
        pieces=tuple(pieces),
        entry=tuple(entry),
        corrections=plan.corrections,
    )
    return replace(drafted, messages=(*drafted.messages, *check_pieces(drafted)))


def _entry(plan: Plan, last: Last, uppers: Sequence[FlatPart]) -> list[EntryLevel]:
    """Return how the foot goes in, where the style has a topline over which it does."""
    if TOPLINE not in {curve.name for curve in plan.lines.curves}:
        return []
    curve, moved = plan.lines.curve(TOPLINE), plan.moved_mm.get(TOPLINE, 0.0)
    topline = curve_values(curve, plan.lines, fields_of_last(last), plan.landmarks, moved)
    numbers = [
        (feature, {key: formula.value(plan.landmarks) for key, formula in feature.numbers.items()})
        for feature in plan.lines.features
        if feature.kind in ("opening", "elastic") and _set(plan, feature)
    ]
    openings = [Opening(**given) for feature, given in numbers if feature.kind == "opening"]
    elastic = {
        name: given["stretch_pct"] / 100.0
        for feature, given in numbers
        if feature.kind == "elastic"
        for name in feature.pieces
    }
    return entry_levels(last, uppers, openings, topline, elastic)


@dataclass(frozen=True, slots=True)
class Cut:
    """Every piece cut from the last, with the parts they come from and how they are lasted."""

    pieces: list[Piece]
    flats: list[FlatPart]
    lasting: list[Lasting]


def _cut_pieces(plan: Plan, sole: Sole, progress: Callable[[str], None]) -> Cut:
    """Last -> layers -> regions -> flat parts -> pieces."""
    cut = Cut([], [], [])
    for layer in LAYERS:
        progress(f"the lines of the {layer} layer")
        last = plan.layer_last(layer)
        for part, runs in parts_of_layer(plan, layer):
            girths = girth_functions(last, part.surface.points_mm, plan.levels_mm())
            progress(f"the {part.region.name}")
            flat = lay_flat(part, girths, _lasting_ids(runs))
            piece, lasting = _piece(plan, flat, runs, sole)
            cut.flats.append(flat)
            cut.pieces.append(piece)
            cut.lasting.extend(lasting)
    return cut


def _set(plan: Plan, feature: Feature) -> bool:
    return all(condition.holds(plan.values) for condition in feature.when)


def _lasting_ids(runs: Sequence[NamedRun]) -> set[int]:
    return {k for named in runs if named.rule.kind == "lasting" for k in named.run.point_ids}


def _piece(
    plan: Plan, flat: FlatPart, runs: Sequence[NamedRun], sole: Sole
) -> tuple[Piece, list[Lasting]]:
    """Return the piece of a part laid flat, its lasting edges with room and pleats."""
    numbers = plan.landmarks

    def seen(named: NamedRun) -> FloatArray:
        return sole.laid_flat(flat.part.surface.points_mm[list(named.run.point_ids)])

    edges = net_edges(
        flat, runs, numbers, lambda named, asked: lasting_margin_mm(asked, sole.ring, seen(named))
    )
    piece = piece_from(
        flat,
        runs,
        edges,
        stitch_inset_mm=numbers["stitch_inset_mm"],
        foot_length_mm=plan.foot.foot_length_mm,
    )
    lasting = []
    notches = list(piece.notches)
    for named, edge in zip(runs, edges, strict=True):
        if edge.kind != "lasting":
            continue
        gather, pleats = gathered(edge, sole.ring, seen(named), plan.foot.foot_length_mm)
        notches += pleats
        cover = max(0.0, edge.allowance_mm - numbers["insole_thickness_mm"])
        lasting.append(Lasting(piece.name, edge.allowance_mm, cover, gather, len(pleats)))
    return replace(piece, notches=tuple(notches), grade=_grade(flat, numbers)), lasting


def _grade(flat: FlatPart, numbers: Mapping[str, float]) -> int | None:
    """Return the worst grade of leather a part may be cut from; None: any.

    Common practice, no source: what is lasted and looked at comes from the best of the hide; what
    lies over it, under it or inside may come from the lesser parts.
    """
    region = flat.part.region
    shown = region.layer == "upper" and region.material == "upper"
    return int(numbers.get("upper_grade", 0.0)) or None if shown else None


def _with_features(
    plan: Plan, pieces: list[Piece], sole: Sole
) -> tuple[list[Piece], EyeletRow | None, list[Message]]:
    """Return the pieces with what the style sets into them, and those drawn beside them."""
    row: EyeletRow | None = None
    messages: list[Message] = []
    numbers = plan.landmarks
    for feature in plan.lines.features:
        if not all(condition.holds(plan.values) for condition in feature.when):
            continue
        if feature.kind == "eyelets":
            pieces, row = with_eyelets(pieces, feature, numbers)
        elif feature.kind == "tape":
            tapes = [tape_along(p, feature, numbers) for p in pieces if p.name in feature.pieces]
            pieces += [tape for tape in tapes if tape is not None]
        elif feature.kind == "tongue":
            pieces.append(tongue_under(pieces, feature, numbers))
        elif feature.kind == "toe form":
            pieces += toe_form_pieces(pieces, feature, numbers)
        elif feature.kind == "loop":
            pieces.append(loop_piece(feature, numbers))
        elif feature.kind == "strap":
            way = way_over(plan.layer_last("outside"), plan.lines, feature, numbers)
            pieces = [*with_strap_marks(pieces, feature, way)]
            pieces += strap_pieces(feature, numbers, way)
        elif feature.kind == "zip":
            guards, lengths = zip_guards(pieces, feature, numbers)
            pieces += guards
            messages += lengths
        elif feature.kind == "bottom":
            under, said = bottom_pieces(
                sole.ring,
                _margins(pieces, sole),
                numbers,
                foot_raise_mm=plan.last.heel_raise_mm,
                foot_length_mm=plan.foot.foot_length_mm,
            )
            pieces += under
            messages += said
    return pieces, row, messages


def _margins(pieces: Sequence[Piece], sole: Sole) -> list[Margin]:
    """Return what all pieces turn under the insole."""
    found = []
    for piece in pieces:
        if piece.mesh is None:
            continue
        points = dict(piece.mesh.edge_points)
        for edge in piece.edges:
            if edge.kind == "lasting" and piece.material != "card":
                run = sole.laid_flat(piece.mesh.points_mm[list(points[edge.name])])
                found.append(Margin(run, edge.allowance_mm))
    return found
