"""The lines of a style: curves on the last, the regions between them, what their edges become."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, cast, get_args

from patterns.formula import Formula, formula_from
from patterns.pieces.piece import EdgeKind, Material

# What a curve may be drawn in, at any place of the last's surface. All are lengths in mm but
# `turn`, which goes from 0 at the middle of the top (in the leg: of the front) to 1 at the middle
# of the sole (of the back).
#   x, y, z      the foot's own frame
#   above_sole   height above the sole at this station
#   drop         how far below the middle of the top of its own section
#   along        way along the middle of the top and up the front, from the tip of the toe
#   from_front   way round the section from the middle of the top or front
#   from_back    way round the section from the middle of the sole or back
#   side         the lesser of these two; positive on the outer side, negative on the inner
FIELDS = (
    "x", "y", "z", "above_sole", "drop", "along", "from_front", "from_back", "side", "turn",
)  # fmt: skip
NOTHING = Formula()
CENTRE = "centre"  # the curve that parts outer from inner; every style has it
Layer = Literal["lining", "between", "upper", "outside"]
TightWay = Literal["along", "up"]
CurveKind = Literal["smooth", "straight"]
FeatureKind = Literal[
    "dart", "eyelets", "tape", "strap", "tongue", "toe form", "loop", "zip", "bottom", "opening",
    "elastic",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Curve:
    """A line on the last: where `field` equals a function of `over`.

    The function goes through the points of `through`, each a place and a value; one point alone
    makes it the same everywhere. `like` takes another curve instead, moved by `shift_mm`.
    """

    name: str
    label: str
    field: str = ""
    over: str = ""
    through: tuple[tuple[Formula, Formula], ...] = ()
    kind: CurveKind = "smooth"
    like: str = ""
    shift_mm: Formula = NOTHING


@dataclass(frozen=True, slots=True)
class Sign:
    """One side of one curve; `above` is where its field is greater than the curve."""

    curve: str
    above: bool


@dataclass(frozen=True, slots=True)
class Condition:
    """A yes-or-no parameter that must be set, or must not be; an empty key always holds."""

    key: str = ""
    wanted: bool = True

    def holds(self, values: Mapping[str, object]) -> bool:
        """Return whether it holds with these values."""
        return not self.key or bool(values[self.key]) == self.wanted


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the last's surface that becomes a piece: where every sign holds."""

    name: str
    signs: tuple[Sign, ...]
    layer: Layer = "upper"
    material: Material = "upper"
    tight_way: TightWay = "along"
    when: tuple[Condition, ...] = ()
    without: tuple[str, ...] = ()  # other regions of the layer taken out of it


@dataclass(frozen=True, slots=True)
class EdgeRule:
    """What an edge on a curve becomes; the first rule that fits an edge is taken.

    With `signs` it fits only those runs of the edge that lie so; the edge is parted there.
    """

    curve: str
    name: str
    kind: EdgeKind
    allowance_mm: Formula
    pieces: tuple[str, ...] = ()
    stitched: bool = False
    when: tuple[Condition, ...] = ()
    signs: tuple[Sign, ...] = ()

    def applies(self, pieces: Collection[str], values: Mapping[str, object]) -> bool:
        """Return whether it is for any of these pieces with these values."""
        named = not self.pieces or not set(self.pieces).isdisjoint(pieces)
        return named and all(condition.holds(values) for condition in self.when)


@dataclass(frozen=True, slots=True)
class Feature:
    """Something added to pieces or made beside them, with its own numbers.

    `dart` slits pieces; `eyelets`, `tape` and `strap` go on pieces along an edge; `tongue`,
    `toe form`, `loop`, `zip` and `bottom` make pieces; `opening` and `elastic` say how the foot
    gets in. See `patterns.drafting.features`, `extras`, `fastenings`, `darts` and `entry`.
    """

    kind: FeatureKind
    name: str
    pieces: tuple[str, ...]
    edge: str
    material: Material
    numbers: Mapping[str, Formula]
    when: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class StyleLines:
    """Everything a style's file says about its pieces."""

    curves: tuple[Curve, ...]
    regions: tuple[Region, ...]
    edges: tuple[EdgeRule, ...]
    features: tuple[Feature, ...]
    reach_mm: Formula  # how high the last must reach

    def curve(self, name: str) -> Curve:
        """Return a curve by its name, or raise KeyError."""
        for curve in self.curves:
            if curve.name == name:
                return curve
        raise KeyError(name)


def lines_from_table(table: Mapping[str, object]) -> StyleLines:
    """Return the lines a style's table describes.

    Raises
    ------
    KeyError, TypeError, ValueError
        A key is missing, of the wrong kind, or names what the style does not have.
    """
    curves = tuple(_curve(entry) for entry in _tables(table, "curves"))
    known = {CENTRE, *(curve.name for curve in curves)}
    if len(known) != len(curves) + 1:
        raise ValueError("two curves of one name")
    for curve in curves:
        if curve.like and curve.like not in known:
            raise ValueError(f"curve {curve.name!r} is like {curve.like!r}, which is missing")
    regions = tuple(_region(entry, known) for entry in _tables(table, "regions"))
    if not regions:
        raise ValueError("there are no regions")
    for region, other in combinations(regions, 2):
        if region.name == other.name and not _exclusive(region.when, other.when):
            raise ValueError(f"two regions {region.name!r} that may be there together")
    edges = tuple(_edge_rule(entry, known) for entry in _tables(table, "edges"))
    features = tuple(_feature(entry) for entry in _tables(table, "features"))
    return StyleLines(curves, regions, edges, features, formula_from(table["reach_mm"]))


def _exclusive(one: Sequence[Condition], other: Sequence[Condition]) -> bool:
    return any(a.key == b.key and a.wanted != b.wanted for a in one for b in other)


def _tables(table: Mapping[str, object], key: str) -> list[Mapping[str, object]]:
    entries = table.get(key, [])
    if not isinstance(entries, list) or not all(isinstance(entry, Mapping) for entry in entries):
        raise TypeError(f"{key} must be a list of tables")
    return entries


def _curve(entry: Mapping[str, object]) -> Curve:
    name = str(entry["name"])
    label = str(entry.get("label", name.capitalize()))
    if "like" in entry:
        shift = formula_from(entry.get("shift_mm", 0.0))
        return Curve(name, label, like=str(entry["like"]), shift_mm=shift)
    field, over = str(entry["field"]), str(entry.get("over", ""))
    for given in (field, over or field):
        if given not in FIELDS:
            raise ValueError(f"curve {name!r}: {given!r} is not one of {', '.join(FIELDS)}")
    kind = _one_of(entry.get("kind", "smooth"), CurveKind)
    through: tuple[tuple[Formula, Formula], ...]
    if "at" in entry:
        through = ((Formula(0.0), formula_from(entry["at"])),)
    else:
        points = cast("Sequence[Sequence[object]]", entry["through"])
        through = tuple((formula_from(place), formula_from(value)) for place, value in points)
    if not through or (len(through) > 1 and not over):
        raise ValueError(f"curve {name!r} needs `at`, or `over` and `through`")
    return Curve(name, label, field, over, through, cast(CurveKind, kind))


def _region(entry: Mapping[str, object], known: set[str]) -> Region:
    name = str(entry["name"])
    return Region(
        name=name,
        signs=_signs(entry["signs"], known, f"region {name!r}"),
        layer=cast(Layer, _one_of(entry.get("layer", "upper"), Layer)),
        material=cast(Material, _one_of(entry.get("material", "upper"), Material)),
        tight_way=cast(TightWay, _one_of(entry.get("tight_way", "along"), TightWay)),
        when=_conditions(entry),
        without=_words(entry.get("without", [])),
    )


def _signs(given: object, known: set[str], where: str) -> tuple[Sign, ...]:
    words = _words(given)
    for word in words:
        if word[:1] not in ("+", "-") or word[1:] not in known:
            raise ValueError(f"{where}: {word!r} is not + or - and a curve's name")
    return tuple(Sign(word[1:], word[0] == "+") for word in words)


def _edge_rule(entry: Mapping[str, object], known: set[str]) -> EdgeRule:
    curve = str(entry["curve"])
    if curve not in known:
        raise ValueError(f"an edge follows {curve!r}, which is not a curve")
    return EdgeRule(
        curve=curve,
        name=str(entry.get("name", curve)),
        kind=cast(EdgeKind, _one_of(entry["kind"], EdgeKind)),
        allowance_mm=formula_from(entry.get("allowance_mm", 0.0)),
        pieces=_words(entry.get("pieces", [])),
        stitched=bool(entry.get("stitched", False)),
        when=_conditions(entry),
        signs=_signs(entry.get("signs", []), known, f"an edge on {curve!r}"),
    )


FEATURE_KEYS = ("kind", "name", "pieces", "edge", "material", "when")


def _feature(entry: Mapping[str, object]) -> Feature:
    kind = cast(FeatureKind, _one_of(entry["kind"], FeatureKind))
    return Feature(
        kind=kind,
        name=str(entry.get("name", kind)),
        pieces=_words(entry.get("pieces", [])),
        edge=str(entry.get("edge", "")),
        material=cast(Material, _one_of(entry.get("material", "upper"), Material)),
        numbers={key: formula_from(v) for key, v in entry.items() if key not in FEATURE_KEYS},
        when=_conditions(entry),
    )


def _conditions(entry: Mapping[str, object]) -> tuple[Condition, ...]:
    given = entry.get("when", [])
    words = [given] if isinstance(given, str) else list(_words(given))
    return tuple(
        Condition(word.removeprefix("not "), not word.startswith("not ")) for word in words
    )


def _words(given: object) -> tuple[str, ...]:
    if not isinstance(given, list) or not all(isinstance(word, str) for word in given):
        raise TypeError(f"{given!r} must be a list of words")
    return tuple(given)


def _one_of(given: object, kinds: object) -> str:
    allowed = get_args(kinds)
    if given not in allowed:
        raise ValueError(f"{given!r} is not one of {', '.join(allowed)}")
    return str(given)
