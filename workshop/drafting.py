"""From a stored foot to its last and its pieces, kept so that the same is never made twice."""

import contextlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django_q.tasks import async_task

from patterns import drafting as surface
from patterns import projection
from patterns.drafting.memory import Memory
from patterns.drawing.boot import BOOT_DRAWING, draw_boot
from patterns.drawing.drawing import Drawing
from patterns.drawing.last import LAST_DRAWING, draw_last
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.solid import SOLID, document_from_bodies, solid_shoe
from patterns.drawing.svg import drawing_svg
from patterns.drawing.worn import WORN_DRAWING, Label, draw_worn
from patterns.drawing.worn_views import SIDES, WORN_VIEWS, draw_worn_views
from patterns.errors import PatternError, StyleError
from patterns.exchange.last_file import document_from_last, last_from_document
from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document
from patterns.foot import Foot
from patterns.last import LAST_ENGINE, Last, build_last, wrapped
from patterns.last.solid import mirrored_last
from patterns.pieces.piece import BuiltMeasure, PieceSet
from patterns.style import Style, load_style, style_names
from workshop import bridge
from workshop.drawn import document_from_drawing, drawing_from_document
from workshop.kept_results import found, is_kept, kept, note
from workshop.models import FootVersion, StyleVersion
from workshop.patience import Patience
from workshop.stand_ins import stand_in_for, stand_in_keep, was_drawn
from workshop.strict_json import write_json

PROJECTION = "projection"  # the method of styles drawn by hand's way; all others cut the surface
SAMPLE_LENGTH_MM = 75.0
STEPS = "steps"  # how far a drawing is, kept for those who wait for it


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be drafted: a foot, a style with its values, and the maker's corrections."""

    foot: Foot
    foot_document: Mapping[str, Any]
    style: Style
    values: Mapping[str, float | bool]
    corrections: Mapping[str, float]

    @property
    def engine(self) -> str:
        """Return the version of what will draw it."""
        return projection.ENGINE if self.style.method == PROJECTION else surface.ENGINE

    @property
    def is_cut(self) -> bool:
        """Return whether the pieces are cut from the last's surface."""
        return self.style.method != PROJECTION

    def source(self) -> dict[str, Any]:
        """Return everything the pieces follow from, as plain values."""
        return {
            "engine": self.engine,
            "style": self.style.name,
            "file": self.style.sha256,
            "values": dict(self.values),
            "foot": dict(self.foot_document),
            "corrections": dict(self.corrections),
        }


def asked_of(
    foot: FootVersion,
    style: StyleVersion,
    options: Mapping[str, str],
    corrections: Mapping[str, float],
) -> Asked:
    """Return what a choice of records asks for.

    Raises
    ------
    PatternError
        A value is out of its range, or the foot or the style cannot be used any more.
    """
    pattern = load_style(style.style.file_name)
    return Asked(
        foot=bridge.foot_from_version(foot),
        foot_document=bridge.foot_document(foot),
        style=pattern,
        values=pattern.values({**style.values, **options}),
        corrections=corrections,
    )


@dataclass(frozen=True, slots=True)
class Drafted:
    """The pieces of a style for a foot, and the shoe they make as it is worn."""

    pieces: PieceSet
    worn: Drawing


# A page asks for the same pieces again and again; reading their file takes longer than the rest.
_latest: Memory[Drafted] = Memory(8)


def drafted(asked: Asked) -> Drafted:
    """Return the pieces and the shoe, as last read, from their file or drafted now.

    Raises
    ------
    PatternError
        This foot and this style do not go together; the error names what to change.
    """
    source = _drawn_source(asked)
    return _latest.get(write_json(source, sort_keys=True), lambda: _read_or_drafted(asked, source))


def takes_long(asked: Asked) -> bool:
    """Return whether pieces are still to be drawn, and on a foot this style is new to.

    Drawn again with other values, only what has changed is worked out, within a second.
    """
    return not (is_kept("pieces", _drawn_source(asked)) or was_drawn(asked))


def _drawn_source(asked: Asked) -> dict[str, Any]:
    return asked.source() | {"drawn": [BOOT_DRAWING, WORN_DRAWING]}


def forget_drafted() -> None:
    """Drop what this process remembers, as for measuring how long a draft takes afresh."""
    _latest.forget()


def _read_or_drafted(asked: Asked, source: Mapping[str, Any]) -> Drafted:
    document = kept("pieces", source, lambda: _drafted_document(asked))
    return Drafted(
        pieces_from_document(document["pieces"]), drawing_from_document(document["worn"])
    )


def _drafted_document(asked: Asked) -> dict[str, Any]:
    if asked.style.method == PROJECTION:
        pieces = projection.draft_pieces(asked.foot, asked.style, asked.values)
        worn = projected_boot(pieces, asked.foot)
    else:
        last = _kept_last(asked)
        pieces = _surface_pieces(asked, last)
        worn = draw_worn(pieces, last)
    stand_in_keep(asked, pieces)
    return {"pieces": document_from_pieces(pieces), "worn": document_from_drawing(worn)}


def _kept_last(asked: Asked) -> Last:
    """Return the bare last of a foot, fitted once for all styles that reach as high."""
    top_mm = surface.reach_mm(asked.foot, asked.style, asked.values)
    source = {"engine": LAST_ENGINE, "foot": dict(asked.foot_document), "top_mm": top_mm}
    return last_from_document(
        kept("form", source, lambda: document_from_last(build_last(asked.foot, top_mm=top_mm)))
    )


def solid_document(asked: Asked) -> list[dict[str, Any]]:
    """Return the shoe on its foot as bodies in space, as plain values.

    Raises
    ------
    PatternError
        As `drafted` raises; or the style is drawn flat and has no surface to stand on.
    """
    _must_be_cut(asked)

    def made() -> dict[str, Any]:
        last = _kept_last(asked)
        return {"bodies": document_from_bodies(solid_shoe(_surface_pieces(asked, last), last))}

    bodies: list[dict[str, Any]] = kept("solid", asked.source() | {"drawn": SOLID}, made)["bodies"]
    return bodies


def worn_views(asked: Asked) -> dict[str, Drawing]:
    """Return the shoe on its foot from four sides, by the keys of `worn_views.SIDES`.

    Raises
    ------
    PatternError
        As `drafted` raises; or the style is drawn flat and has no surface to be seen on.
    """
    _must_be_cut(asked)

    def made() -> dict[str, Any]:
        last = _kept_last(asked)
        drawn = draw_worn_views(_surface_pieces(asked, last), last)
        return {name: document_from_drawing(drawing) for name, drawing in drawn.items()}

    document = kept("views", asked.source() | {"drawn": WORN_VIEWS}, made)
    return {name: drawing_from_document(document[name]) for name in SIDES}


def _must_be_cut(asked: Asked) -> None:
    if not asked.is_cut:
        raise StyleError(
            _("This style is drawn by the paper method; it has no surface to be seen as a solid."),
            field="style",
            code="no_surface",
        )


def _surface_pieces(asked: Asked, last: Last) -> PieceSet:
    return surface.draft_pieces(
        asked.foot,
        asked.style,
        asked.values,
        corrections=asked.corrections,
        last=last,
        progress=Patience(told=lambda done: note(STEPS, asked.source(), {"done": done})),
    )


def percent_drawn(asked: Asked) -> int:
    """Return how much of the drawing that is under way is done, by its steps."""
    lines = asked.style.lines
    steps = 1 + len(surface.LAYERS) + (len(lines.regions) if lines is not None else 0)
    said = found(STEPS, asked.source()) or {"done": 0}
    return min(99, 100 * int(said["done"]) // steps)


def projected_boot(pieces: PieceSet, foot: Foot | None) -> Drawing:
    """Return the boot of hand-drawn pieces; the pieces alone where they make no laced boot."""
    if foot is not None:
        with contextlib.suppress(PatternError):
            return draw_boot(pieces, projection.shape_of_foot(foot))
    return draw_piece_set(pieces, labelled=False)


def stand_ins_missing() -> list[str]:
    """Return the pattern files of which nothing stands in yet for pieces not drawn."""
    styles = [load_style(name) for name in style_names()]
    return [style.name for style in styles if stand_in_for(_on_sample_foot(style)) is None]


def stand_in_draw(style_name: str) -> None:
    """Draw a style on the sample foot, so that its price can be estimated on any other."""
    asked = _on_sample_foot(load_style(style_name))
    if stand_in_for(asked) is None:
        _drafted_document(asked)


def stand_ins_draw(style_names: list[str]) -> None:
    """Draw the first of some styles on the sample foot, and ask the queue for the others."""
    try:
        stand_in_draw(style_names[0])
    finally:
        if style_names[1:]:
            async_task("workshop.drafting.stand_ins_draw", style_names[1:])


def _on_sample_foot(style: Style) -> Asked:
    document = {"foot_length": SAMPLE_LENGTH_MM}
    return Asked(Foot("sample", document), document, style, style.values({}), {})


@dataclass(frozen=True, slots=True)
class StylePicture:
    """A style as its page shows it, on a foot of the usual proportions."""

    worn: SafeString
    pieces: SafeString
    fault: str = ""


def style_picture(pattern: Style, values: Mapping[str, float | bool]) -> StylePicture:
    """Return a style on the sample foot: the shoe with its lines named, and its pieces."""
    source = {
        "engine": surface.ENGINE,
        "drawn": [BOOT_DRAWING, WORN_DRAWING],
        "style": pattern.name,
        "file": pattern.sha256,
        "values": dict(values),
        "language": get_language(),
    }
    try:
        document = kept("style", source, lambda: _style_document(pattern, values))
    except PatternError as error:
        return StylePicture(mark_safe(""), mark_safe(""), error.text)
    # As with the last: our own folder, our own writer.
    return StylePicture(mark_safe(document["worn"]), mark_safe(document["pieces"]))


def _style_document(pattern: Style, values: Mapping[str, float | bool]) -> dict[str, Any]:
    foot = Foot("sample", {"foot_length": SAMPLE_LENGTH_MM})
    if pattern.method == PROJECTION:
        pieces = projection.draft_pieces(foot, pattern, values)
        worn = projected_boot(pieces, foot)
    else:
        pieces = surface.draft_pieces(foot, pattern, values)
        worn = draw_worn(pieces, build_last(foot), labels=_line_labels(pattern))
    return {
        "worn": drawing_svg(worn, title=_("The shoe from its outer side, its lines named")),
        "pieces": drawing_svg(draw_piece_set(pieces), title=_("The pieces for one pair")),
    }


def _line_labels(pattern: Style) -> tuple[Label, ...]:
    """Return the words for each line, by the edges that are cut along it."""
    if pattern.lines is None:
        return ()
    words = {curve.name: _(curve.label).lower() for curve in pattern.curves}
    return tuple(
        Label(rule.name, words[rule.curve], rule.pieces)
        for rule in pattern.lines.edges
        if rule.curve in words and rule.kind != "lasting"
    )


@dataclass(frozen=True, slots=True)
class LastPicture:
    """A foot's last as its page shows it: from four sides, each measure asked and built."""

    svg: SafeString
    measures: tuple[BuiltMeasure, ...]
    source_kind: str


def last_picture(version: FootVersion) -> LastPicture:
    """Return the last of a stored foot, built and drawn once for the same foot.

    Raises
    ------
    PatternError
        No last can be built from what was measured; the error names what to measure again.
    """
    source = {
        "engine": surface.ENGINE,
        "drawn": LAST_DRAWING,
        "foot": bridge.foot_document(version),
        "language": get_language(),
    }
    document = kept("last", source, lambda: _last_document(bridge.foot_from_version(version)))
    measures = tuple(BuiltMeasure(**row) for row in document["measures"])
    # Our own folder, our own writer, which escapes all words.
    return LastPicture(mark_safe(document["svg"]), measures, document["source_kind"])


def _last_document(foot: Foot) -> dict[str, Any]:
    last = build_last(foot)
    svg = drawing_svg(
        draw_last(last),
        title=_("The last from four sides"),
        description=_("The outer side with every girth, from above, from the toe, from behind."),
    )
    return {
        "svg": svg,
        "measures": [asdict(measure) for measure in last.measures],
        "source_kind": last.source_kind,
    }


def last_file(
    version: FootVersion, *, foot_side: str, wrap_mm: float, top_mm: float | None
) -> Last:
    """Return the last of a stored foot, or of the other foot, bare or grown by a wrap.

    Raises
    ------
    PatternError
        No last can be built, or the wrap folds it.
    """
    last = build_last(bridge.foot_from_version(version), top_mm=top_mm)
    if foot_side != version.foot_side:
        last = mirrored_last(last)
    return wrapped(last, wrap_mm) if wrap_mm > 0 else last
