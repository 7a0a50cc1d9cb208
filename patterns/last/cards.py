"""A last as slotted cards: one lengthwise card and cross cards that are pushed onto it.

A maker who does not hold the foot cuts them out, slots them together and fills or covers the form.
The lengthwise card lies in the plane that halves the last, leaning with the leg; cross cards
stand square to it at even steps. Where two cards meet, each is slotted half way, as wide as the
card is thick: the lengthwise card from above, the cross card from below.
"""

from dataclasses import dataclass
from math import atan2, cos, floor, isfinite, sin

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry.polygon import orient

from patterns.errors import PatternError
from patterns.geometry.runs import contour_runs
from patterns.last.last import FloatArray, IntArray, Last
from patterns.last.solid import closed_triangles
from patterns.pieces.piece import Line, Piece, Ring

THICKNESS_LIMITS_MM = (0.1, 5.0)
SPACING_LIMITS_MM = (2.0, 60.0)
SPACING_LEAST_TIMES = 3.0  # of the card's thickness: closer cards leave no room to slot them
CARDS_MOST = 200
SLOT_HEIGHT_LEAST = 4.0  # of the card's thickness: lower places are left without a card
THINNED_MM = 0.01  # how far an outline may be off when points on straight runs are left out
FAR_MM = 10_000.0
EVEN_SHARE = 0.5  # of a slot's whole height: how much the edge may climb over it
MARK_SHARE = 0.12  # of a card's height: length of the tick beside a slot


@dataclass(frozen=True, slots=True)
class CardSections:
    """The cards of a last.

    Parameters
    ----------
    pieces : tuple of Piece
        Of material "card", at true size, the lengthwise card first. It is seen from the side with
        the toe to the right; cross cards are seen from the toe.
    card_thickness_mm, spacing_mm : float
    lean_deg : float
        How far the lengthwise card leans sideways from upright, to +y.
    """

    pieces: tuple[Piece, ...]
    card_thickness_mm: float
    spacing_mm: float
    lean_deg: float


@dataclass(frozen=True, slots=True)
class _Body:
    """The closed last, turned about the x axis so that the lengthwise card is the plane y = 0."""

    points: FloatArray
    triangles: IntArray


@dataclass(frozen=True, slots=True)
class _Meeting:
    """Where a cross card and the lengthwise card run through each other."""

    x: float
    low: float
    middle: float
    high: float
    part: Polygon


def card_sections(last: Last, *, card_thickness_mm: float, spacing_mm: float) -> CardSections:
    """Return a last as slotted cards.

    Parameters
    ----------
    last : Last
        Bare or wrapped, of either foot.
    card_thickness_mm : float
        0.1 to 5 mm; slots are as wide.
    spacing_mm : float
        From middle to middle of neighbouring cross cards.

    Raises
    ------
    PatternError
        A thickness or spacing out of its range, or so wide that no cross card finds a place.

    Notes
    -----
    Each card is what the last has in common on both faces of the card, so that no edge of a
    thick card stands out of the surface.
    """
    _check_sizes(card_thickness_mm, spacing_mm)
    body, lean = _upright_body(last)
    thick = card_thickness_mm
    whole = _common_section(body, 1, 0.0, thick)
    meetings: list[_Meeting] = []
    for x in _places(body, spacing_mm):
        meetings += _best_meetings(body, whole, x, thick)
    if not meetings:
        raise PatternError(
            f"No cross card finds a place at {spacing_mm:g} mm apart and {thick:g} mm thick; take"
            " thinner card.",
            field="card_thickness_mm",
            code="cards-none",
        )
    lengthwise = _lengthwise(whole, meetings, thick)
    crosses = [_cross(meeting, name, thick) for meeting, name in _named(meetings)]
    return CardSections((*lengthwise, *crosses), thick, spacing_mm, lean)


def _check_sizes(thickness_mm: float, spacing_mm: float) -> None:
    for field, value, (least, most) in (
        ("card_thickness_mm", thickness_mm, THICKNESS_LIMITS_MM),
        ("spacing_mm", spacing_mm, SPACING_LIMITS_MM),
    ):
        if not (isfinite(value) and least <= value <= most):
            text = f"{field} is {value:g}; it must lie between {least:g} and {most:g} mm."
            raise PatternError(text, field=field, code="card-size", given_mm=value)
    if spacing_mm < SPACING_LEAST_TIMES * thickness_mm:
        least_mm = SPACING_LEAST_TIMES * thickness_mm
        text = (
            f"Cards {thickness_mm:g} mm thick cannot stand {spacing_mm:g} mm apart; take at least"
            f" {least_mm:g} mm."
        )
        raise PatternError(text, field="spacing_mm", code="card-spacing", least_mm=least_mm)


# --- the body and its sections -------------------------------------------------------------


def _upright_body(last: Last) -> tuple[_Body, float]:
    """Return the last turned so that the plane that halves it best is y = 0, and its lean."""
    points, triangles = closed_triangles(last)
    low, high = last.grid_mm[1:].min(axis=1), last.grid_mm[1:].max(axis=1)
    middle, height = (low[:, 1] + high[:, 1]) / 2, (low[:, 2] + high[:, 2]) / 2
    slope, offset = np.polyfit(height, middle, 1) if np.ptp(height) > 1.0 else (0.0, middle.mean())
    angle = atan2(float(slope), 1.0)
    y, z = points[:, 1] - float(offset), points[:, 2]
    turned = np.column_stack(
        [points[:, 0], cos(angle) * y - sin(angle) * z, sin(angle) * y + cos(angle) * z]
    )
    return _Body(turned, triangles), float(np.degrees(angle))


def _places(body: _Body, spacing: float) -> list[float]:
    """Return the stations of cross cards, even steps, as many before the first as after the last.

    Rising, from the heel.
    """
    low, high = float(body.points[:, 0].min()), float(body.points[:, 0].max())
    count = min(CARDS_MOST, floor((high - low) / spacing))
    start = (low + high - (count - 1) * spacing) / 2
    return [start + k * spacing for k in range(count)]


def _common_section(body: _Body, axis: int, place: float, thick: float) -> list[Polygon]:
    """Return what both faces of a card have in common, the largest part first."""
    near, far = (_section(body, axis, place + side * thick / 2) for side in (-1, 1))
    return _parts(near.intersection(far))


def _section(body: _Body, axis: int, place: float) -> shapely.Geometry:
    """Return the section square to an axis, in the other two: across or along, and up."""
    runs = contour_runs(body.points, body.triangles, body.points[:, axis], place)
    others = [1 - axis, 2]
    rings = [run.places_mm(body.points)[:, others] for run in runs]
    solid = [Polygon(ring) for ring in rings if len(ring) > 3]
    return shapely.union_all([shape.buffer(0.0) for shape in solid])


def _parts(shape: shapely.Geometry) -> list[Polygon]:
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    whole = [part for part in parts if isinstance(part, Polygon) and part.area > 1e-6]
    return sorted(whole, key=lambda part: -part.area)


# --- where cards meet ----------------------------------------------------------------------


def _best_meetings(body: _Body, whole: list[Polygon], x: float, thick: float) -> list[_Meeting]:
    """Return the meetings at a place, moved by up to four thicknesses where an edge runs upright.

    A slot along such an edge, as at the front of the ankle, would cut a strip off the card.
    """
    first: list[_Meeting] = []
    for move in (0.0, 2.0, -2.0, 4.0, -4.0):
        place = x + move * thick
        found = _meetings(place, whole, _common_section(body, 0, place, thick), thick)
        if found and all(_is_even(whole, meeting, thick) for meeting in found):
            return found
        first = first or found
    return first


def _is_even(whole: list[Polygon], meeting: _Meeting, thick: float) -> bool:
    """Return whether the lengthwise card is about as high on both sides of a slot."""
    tops: list[float] = []
    for side in (-1.0, 1.0):
        x = meeting.x + side * thick
        line = LineString([(x, meeting.middle), (x, meeting.middle + FAR_MM)])
        for part in whole:
            cut = part.intersection(line)
            pieces = [p for p in getattr(cut, "geoms", [cut]) if not p.is_empty]
            tops += [p.bounds[3] for p in pieces if p.bounds[1] <= meeting.middle + 1e-6]
    return len(tops) == 2 and abs(tops[0] - tops[1]) < EVEN_SHARE * (meeting.high - meeting.low)


def _meetings(x: float, whole: list[Polygon], parts: list[Polygon], thick: float) -> list[_Meeting]:
    """Return the places where a cross card's parts and the lengthwise card run together."""
    found = []
    for part in parts:
        common = [
            pair
            for low, high in _intervals(part, 0.0, thick)
            for pair in _common(whole, x, low, high, thick)
        ]
        tallest = max(common, key=lambda pair: pair[1] - pair[0], default=(0.0, 0.0))
        low, high = tallest
        if high - low >= SLOT_HEIGHT_LEAST * thick:
            found.append(_Meeting(x, low, (low + high) / 2, high, part))
    return sorted(found, key=lambda meeting: meeting.low)


def _common(
    whole: list[Polygon], x: float, low: float, high: float, thick: float
) -> list[tuple[float, float]]:
    """Return where the lengthwise card and an interval of a cross card are both."""
    return [
        (max(low, below), min(high, above))
        for each in whole
        for below, above in _intervals(each, x, thick)
    ]


def _intervals(part: Polygon, across: float, thick: float) -> list[tuple[float, float]]:
    """Return the heights between which a part is whole over the width of a slot."""
    bottom, top = part.bounds[1] - 1.0, part.bounds[3] + 1.0
    found: list[tuple[float, float]] | None = None
    for side in (-0.5, 0.0, 0.5):
        line = LineString([(across + side * thick, bottom), (across + side * thick, top)])
        cut = part.intersection(line)
        pieces = getattr(cut, "geoms", [cut])
        spans = [(p.bounds[1], p.bounds[3]) for p in pieces if not p.is_empty and p.length > 0]
        if found is None:
            found = spans
        else:
            pairs = [(max(a, c), min(b, d)) for a, b in found for c, d in spans]
            found = [(a, b) for a, b in pairs if b > a]
    return found or []


# --- the pieces ----------------------------------------------------------------------------


def _lengthwise(whole: list[Polygon], meetings: list[_Meeting], thick: float) -> list[Piece]:
    """Return the lengthwise card, slotted from above; in parts where the last has them."""
    slots = shapely.union_all(
        [
            box(m.x - thick / 2, m.middle, m.x + thick / 2, _open_end(whole, m, thick))
            for m in meetings
        ]
    )
    pieces: list[Piece] = []
    for part in whole:
        held = [m for m in meetings if part.buffer(1e-6).contains(shapely.Point(m.x, m.middle))]
        if not held:
            continue
        body = _parts(part.difference(slots))[0]
        marks = tuple(_tick(m.x, m.middle, m.low, thick) for m in held)
        name = "lengthwise card" if not pieces else f"lengthwise card, part {len(pieces) + 1}"
        pieces.append(_card(name, body, marks))
    return pieces


def _open_end(whole: list[Polygon], meeting: _Meeting, thick: float) -> float:
    """Return a height in the air above the slot's upper end, below whatever hangs over it."""
    strip = box(meeting.x - thick / 2, meeting.middle, meeting.x + thick / 2, FAR_MM)
    within = shapely.union_all([part.intersection(strip) for part in whole])
    lowest = min(_parts(within), key=_bottom_of)
    return float(lowest.bounds[3]) + thick / 2


def _bottom_of(part: Polygon) -> float:
    return float(part.bounds[1])


def _cross(meeting: _Meeting, name: str, thick: float) -> Piece:
    """Return a cross card, slotted from below."""
    bottom = meeting.part.bounds[1] - 1.0
    slot = box(-thick / 2, bottom, thick / 2, meeting.middle)
    body = _parts(meeting.part.difference(slot))[0]
    return _card(name, body, (_tick(0.0, meeting.middle, meeting.high, thick),))


def _named(meetings: list[_Meeting]) -> list[tuple[_Meeting, str]]:
    """Return meetings with the names of their cross cards, counted from the heel."""
    named = []
    places = sorted({meeting.x for meeting in meetings})
    for number, x in enumerate(places, start=1):
        here = [meeting for meeting in meetings if meeting.x == x]
        for level, meeting in enumerate(here):
            upper = "" if level == 0 else " upper" if level == 1 else f" upper {level}"
            named.append((meeting, f"cross card {number}{upper}"))
    return named


def _tick(x: float, start: float, end: float, thick: float) -> Line:
    """Return a short line that goes on from a slot's inner end, where the cards cross."""
    reach = MARK_SHARE * (end - start)
    way = 1.0 if end > start else -1.0
    return Line("mark", ((x, start + way * 0.5 * thick), (x, start + reach + way * 0.5 * thick)))


def _card(name: str, body: Polygon, lines: tuple[Line, ...]) -> Piece:
    ring = _ring(body)
    return Piece(
        name=name,
        quantity=1,
        mirrored_quantity=0,
        material="card",
        net_mm=ring,
        cut_mm=ring,
        lines=lines,
    )


def _ring(body: Polygon) -> Ring:
    outline = orient(Polygon(body.exterior).simplify(THINNED_MM)).exterior
    return tuple((float(x), float(y)) for x, y in outline.coords[:-1])
