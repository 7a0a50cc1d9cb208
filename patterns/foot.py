"""Foot: one doll foot's measures, tracings or mesh, checked when made."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot, isfinite
from typing import Literal

from patterns.errors import FootError
from patterns.foot_measures import MEASURE_BY_KEY, MEASURE_KEYS, MEASURES, Measure
from patterns.geometry.curves import Point
from patterns.mesh_in import FootMesh
from patterns.tracing import check_side_profile, check_sole_outline

__all__ = [
    "MEASURES",
    "MEASURE_BY_KEY",
    "MEASURE_KEYS",
    "Foot",
    "FootSide",
    "LevelGirth",
    "Measure",
    "foot_problems",
]

FootSide = Literal["left", "right"]

FOOT_LENGTH_LEAST_MM = 25.0
FOOT_LENGTH_MOST_MM = 160.0


# Half way along, the sole of a raised foot has come down this share of the heel raise.
RAISE_SHARE_AT_INSTEP = 0.37
# The slanting heel-instep girth spans this share of the foot's length on the ground.
HEEL_INSTEP_SPAN = 0.46
LEVEL_GIRTHS_MOST = 60


@dataclass(frozen=True, slots=True)
class LevelGirth:
    """A girth of the leg with the tape held level, and its height from the ground."""

    height_mm: float
    girth_mm: float


@dataclass(frozen=True, slots=True)
class Foot:
    """One doll foot as measured; only the measures given are in `measures_mm`.

    Parameters
    ----------
    name : str
        What the maker calls this foot.
    measures_mm : mapping of str to float
        Measures by key, see `MEASURES`; ``foot_length`` must be there.
    foot_side : {"left", "right"}
        Which foot was measured.
    level_girths : tuple of LevelGirth
        Further girths up the leg, for shafts.
    knee_clearance_mm : float or None
        Height from the ground that a shaft must not pass.
    sole_outline_mm : closed ring of (x, y) or None
        Tracing from above: heel at x=0, toe towards +x, lateral side towards +y on a left foot.
    side_profile_mm : run of (x, z) or None
        Tracing from the side: from the toe over the instep up the front, down the back to the heel.
    mesh : FootMesh or None
        A surface of the foot; where there is one it is the shape.

    Raises
    ------
    FootError
        The first thing wrong, with `field` naming it; `foot_problems` lists all at once.
    """

    name: str
    measures_mm: Mapping[str, float]
    foot_side: FootSide = "left"
    level_girths: tuple[LevelGirth, ...] = ()
    knee_clearance_mm: float | None = None
    sole_outline_mm: tuple[Point, ...] | None = None
    side_profile_mm: tuple[Point, ...] | None = None
    mesh: FootMesh | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        problems = foot_problems(
            self.name,
            self.measures_mm,
            foot_side=self.foot_side,
            level_girths=self.level_girths,
            knee_clearance_mm=self.knee_clearance_mm,
            sole_outline_mm=self.sole_outline_mm,
            side_profile_mm=self.side_profile_mm,
        )
        if problems:
            raise problems[0]

    @property
    def foot_length_mm(self) -> float:
        """Return the foot's length."""
        return self.measures_mm["foot_length"]

    @property
    def source_kind(self) -> Literal["measures", "tracing", "mesh"]:
        """Return what the foot's shape is taken from."""
        if self.mesh is not None:
            return "mesh"
        if self.sole_outline_mm is not None or self.side_profile_mm is not None:
            return "tracing"
        return "measures"


def foot_problems(
    name: str,
    measures_mm: Mapping[str, float],
    *,
    foot_side: str = "left",
    level_girths: Sequence[LevelGirth] = (),
    knee_clearance_mm: float | None = None,
    sole_outline_mm: Sequence[Point] | None = None,
    side_profile_mm: Sequence[Point] | None = None,
) -> list[FootError]:
    """Return everything wrong with a foot at once, an empty list if nothing is.

    Each error's `field` names the value at fault (``measures.ball_girth``), so that a form can
    show it beside its box.
    """
    problems = [*_naming_problems(name, foot_side), *_range_problems(measures_mm)]
    length = measures_mm.get("foot_length")
    if problems or length is None:
        return problems
    problems += _contradictions(measures_mm)
    problems += _leg_problems(measures_mm, level_girths, knee_clearance_mm)
    for points, check in (
        (sole_outline_mm, check_sole_outline),
        (side_profile_mm, check_side_profile),
    ):
        if points is not None:
            try:
                check(points, length)
            except FootError as error:
                problems.append(error)
    return problems


def _naming_problems(name: str, foot_side: str) -> list[FootError]:
    problems = []
    if not isinstance(name, str) or not name.strip() or len(name) > 200:
        text = "A foot needs a name of 1 to 200 letters; type one."
        problems.append(FootError(text, field="name", code="foot-name"))
    if foot_side not in ("left", "right"):
        text = f'The foot side is "{foot_side}"; say "left" or "right".'
        problems.append(FootError(text, field="foot_side", code="foot-side", given=foot_side))
    return problems


def _range_problems(measures_mm: Mapping[str, float]) -> list[FootError]:
    problems = []
    for key, value in measures_mm.items():
        if key not in MEASURE_BY_KEY:
            text = f'"{key}" is not a measure of a foot; use one of {", ".join(MEASURE_KEYS)}.'
            problems.append(
                FootError(text, field=f"measures.{key}", code="measure-unknown", measure=key)
            )
        elif isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            label = MEASURE_BY_KEY[key].label
            text = f"{label} must be a number of millimetres, not {value!r}."
            problems.append(
                FootError(text, field=f"measures.{key}", code="measure-not-a-number", measure=key)
            )
    if problems:
        return problems
    length = measures_mm.get("foot_length")
    if length is None:
        text = "The foot length is missing; it is the one measure that is always needed."
        return [FootError(text, field="measures.foot_length", code="foot-length-missing")]
    if not FOOT_LENGTH_LEAST_MM <= length <= FOOT_LENGTH_MOST_MM:
        text = (
            f"The foot length is {length:g} mm; feet from {FOOT_LENGTH_LEAST_MM:g} to"
            f" {FOOT_LENGTH_MOST_MM:g} mm can be drawn. Check the figure and its unit."
        )
        return [
            FootError(
                text,
                field="measures.foot_length",
                code="foot-length-range",
                given_mm=length,
                least_mm=FOOT_LENGTH_LEAST_MM,
                most_mm=FOOT_LENGTH_MOST_MM,
            )
        ]
    return [
        problem
        for key, value in measures_mm.items()
        if key != "foot_length" and (problem := _ratio_problem(key, value, length)) is not None
    ]


def _ratio_problem(key: str, value_mm: float, length_mm: float) -> FootError | None:
    measure = MEASURE_BY_KEY[key]
    least, most = measure.least_ratio * length_mm, measure.most_ratio * length_mm
    if least <= value_mm <= most:
        return None
    text = (
        f"{measure.label} is {value_mm:g} mm; for a foot {length_mm:g} mm long it should lie"
        f" between {least:.1f} and {most:.1f} mm. Measure again, or check the unit."
    )
    return FootError(
        text,
        field=f"measures.{key}",
        code="measure-range",
        measure=key,
        given_mm=value_mm,
        least_mm=least,
        most_mm=most,
    )


def _contradictions(m: Mapping[str, float]) -> list[FootError]:
    """Return the pairs of measures that no one foot can have together."""
    length = m["foot_length"]
    raise_mm = m.get("heel_raise", 0.0)
    problems: list[FootError] = []

    def must_pass(key: str, floor_mm: float, than: str, why: str) -> None:
        if m[key] <= floor_mm:
            text = (
                f"{MEASURE_BY_KEY[key].label} is {m[key]:g} mm, but {why} it must be more than"
                f" {floor_mm:.1f} mm. Measure both again."
            )
            problems.append(
                FootError(
                    text,
                    field=f"measures.{key}",
                    code="measures-contradict",
                    measure=key,
                    other=than,
                    given_mm=m[key],
                    floor_mm=floor_mm,
                )
            )

    def given(*keys: str) -> bool:
        return all(key in m for key in keys)

    def words(key: str) -> str:
        return f"{MEASURE_BY_KEY[key].label.lower()} of {m[key]:g} mm"

    if given("ball_girth", "ball_width"):
        why = f"round a {words('ball_width')}, there and back,"
        must_pass("ball_girth", 2 * m["ball_width"], "ball_width", why)
    if given("instep_girth", "instep_height"):
        height = m["instep_height"] - RAISE_SHARE_AT_INSTEP * raise_mm
        why = f"up and down an {words('instep_height')}"
        must_pass("instep_girth", 2 * height, "instep_height", why)
    if given("instep_height"):
        floor = RAISE_SHARE_AT_INSTEP * raise_mm + 0.05 * length
        why = f"over the raised sole of a foot with {words('foot_length')}"
        must_pass("instep_height", floor, "heel_raise", why)
    if given("heel_instep_girth", "instep_girth"):
        why = f"slanting across the same foot as the {words('instep_girth')}"
        must_pass("heel_instep_girth", m["instep_girth"], "instep_girth", why)
    if given("heel_instep_girth", "instep_height"):
        span = 2 * hypot(HEEL_INSTEP_SPAN * length, m["instep_height"] - raise_mm)
        why = f"from heel to the top of an {words('instep_height')} and back"
        must_pass("heel_instep_girth", span, "instep_height", why)
    for lower, higher in (
        ("toe_height", "instep_height"),
        ("instep_height", "ankle_height"),
        ("ankle_height", "calf_height"),
        ("heel_raise", "ankle_height"),
    ):
        if given(lower, higher):
            why = f"above a {words(lower)}"
            must_pass(higher, m[lower], lower, why)
    if given("calf_girth", "ankle_girth"):
        why = f"with the {words('ankle_girth')}, the smallest of the leg,"
        must_pass("calf_girth", 0.999 * m["ankle_girth"], "ankle_girth", why)
    return problems


def _leg_problems(
    m: Mapping[str, float], level_girths: Sequence[LevelGirth], knee_clearance_mm: float | None
) -> list[FootError]:
    length = m["foot_length"]
    problems = []
    if len(level_girths) > LEVEL_GIRTHS_MOST:
        text = f"{len(level_girths)} level girths are given; {LEVEL_GIRTHS_MOST} are the most."
        problems.append(FootError(text, field="level_girths", code="level-girths-many"))
    for number, level in enumerate(level_girths):
        for key, value, most in (
            ("height_mm", level.height_mm, 5 * length),
            ("girth_mm", level.girth_mm, 4 * length),
        ):
            if not (isfinite(value) and 0 < value <= most):
                text = (
                    f"Level girth {number + 1}: {key} is {value:g}; it must lie in 0 to {most:g}."
                )
                where = f"level_girths.{number}.{key}"
                problems.append(FootError(text, field=where, code="level-girth-range"))
    if knee_clearance_mm is not None:
        floor = m.get("ankle_height", 0.2 * length)
        if not (isfinite(knee_clearance_mm) and floor < knee_clearance_mm <= 8 * length):
            text = (
                f"The knee clearance is {knee_clearance_mm:g} mm; it must be more than the ankle"
                f" height ({floor:g} mm) and at most {8 * length:g} mm."
            )
            problems.append(FootError(text, field="knee_clearance_mm", code="knee-clearance"))
    return problems
