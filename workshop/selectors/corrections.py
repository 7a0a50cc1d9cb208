"""A maker's corrections as pages, papers and the pattern core take them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.foot import MEASURE_KEYS
from patterns.style import Style as Pattern
from patterns.style_lines import Curve
from workshop.lengths import length_text
from workshop.models import Correction, Doll, FootVersion, Style
from workshop.read_once import read_once

GIRTH, CURVE = "girth:", "curve:"
GIRTH_KEYS = tuple(key for key in MEASURE_KEYS if key.endswith("_girth"))
# A line moves along what it is drawn in: which way that is below zero and above.
CURVE_WAYS = {
    "x": (gettext_lazy("towards the heel"), gettext_lazy("towards the toe")),
    "z": (gettext_lazy("lower"), gettext_lazy("higher")),
    "above_sole": (gettext_lazy("lower"), gettext_lazy("higher")),
    "drop": (gettext_lazy("higher"), gettext_lazy("lower")),
    "along": (gettext_lazy("towards the toe"), gettext_lazy("towards the leg")),
    "from_front": (gettext_lazy("towards the front"), gettext_lazy("away from the front")),
    "from_back": (gettext_lazy("towards the back"), gettext_lazy("away from the back")),
    "side": (gettext_lazy("inwards"), gettext_lazy("outwards")),
}


@dataclass(frozen=True, slots=True)
class CorrectionNote:
    """One correction in words: where, how much, why, when."""

    place: str
    change: str
    reason: str
    day: str


@read_once
def corrections_of(doll: Doll, style: Style) -> list[Correction]:
    """Return all corrections of a doll in a style, newest first, those taken back too."""
    found = Correction.objects.filter(doll=doll, style=style)
    return list(found.select_related("made_by", "withdrawn_by", "commission"))


def in_force(corrections: Iterable[Correction]) -> list[Correction]:
    """Return the corrections that were not taken back."""
    return [correction for correction in corrections if correction.withdrawn_at is None]


def corrections_mm(corrections: Iterable[Correction]) -> dict[str, float]:
    """Return the change at each place, corrections of one place added up; none that cancel out.

    >>> one = Correction(place="girth:ankle_girth", change_mm=Decimal("1"))
    >>> two = Correction(place="girth:ankle_girth", change_mm=Decimal("0.5"))
    >>> corrections_mm([one, two])
    {'girth:ankle_girth': 1.5}
    """
    sums: dict[str, Decimal] = {}
    for correction in corrections:
        sums[correction.place] = sums.get(correction.place, Decimal(0)) + correction.change_mm
    return {place: float(sums[place]) for place in sorted(sums) if sums[place]}


def places_of(pattern: Pattern) -> dict[str, str]:
    """Return every place of a style that can be corrected, in words by its key."""
    girths = {GIRTH + key: girth_label(key) for key in GIRTH_KEYS}
    return girths | {CURVE + curve.name: _(curve.label) for curve in curves_of(pattern)}


def curves_of(pattern: Pattern) -> tuple[Curve, ...]:
    """Return the lines of a style that can be moved by millimetres."""
    return tuple(curve for curve in pattern.curves if curve.field in CURVE_WAYS)


def girth_label(key: str) -> str:
    """Return what a girth is called on pages."""
    label = str(FootVersion._meta.get_field(key).verbose_name)
    return label.removesuffix(" (mm)").capitalize()


def place_words(place: str, pattern: Pattern | None) -> str:
    """Return where a correction is; a line the style has no more keeps its name."""
    known = places_of(pattern) if pattern is not None else {}
    return known.get(place) or place.partition(":")[2].replace("_", " ").capitalize()


def ways_of(place: str, pattern: Pattern | None) -> tuple[str, str]:
    """Return what a change below and above zero means at a place, in a maker's words."""
    if place.startswith(GIRTH):
        return _("in"), _("out")
    curves = pattern.curves if pattern is not None else ()
    field = next((curve.field for curve in curves if CURVE + curve.name == place), "")
    less, more = CURVE_WAYS.get(field, (gettext_lazy("less"), gettext_lazy("more")))
    return str(less), str(more)


def change_words(place: str, change_mm: Decimal, pattern: Pattern | None) -> str:
    """Return a change as a maker says it: in 1 mm, higher 2 mm."""
    way = ways_of(place, pattern)[change_mm > 0]
    return f"{way} {length_text(abs(change_mm))} mm"


def note_of(correction: Correction, pattern: Pattern | None) -> CorrectionNote:
    """Return one correction in words."""
    return CorrectionNote(
        place=place_words(correction.place, pattern),
        change=change_words(correction.place, correction.change_mm, pattern),
        reason=correction.reason,
        day=correction.made_at.date().isoformat(),
    )


def correction_lines(
    drawn_mm: Mapping[str, float], pattern: Pattern | None, noted: Iterable[Correction]
) -> tuple[str, ...]:
    """Return what is drawn into the pieces, a line for each place, for a paper.

    Parameters
    ----------
    drawn_mm : mapping of place to change
        As the pieces carry it.
    pattern : Style of the pattern core, or None
        For the words of its lines.
    noted : iterable of Correction
        Their reasons stand in brackets.
    """
    reasons: dict[str, list[str]] = {}
    for correction in noted:
        reasons.setdefault(correction.place, []).append(correction.reason)
    return tuple(
        f"{place_words(place, pattern)} {change_words(place, Decimal(repr(change)), pattern)}"
        + (f" ({'; '.join(reasons[place])})" if place in reasons else "")
        for place, change in drawn_mm.items()
    )
