"""How a shoe fits, told in a maker's words; the figures stand behind each of them."""

from dataclasses import dataclass
from typing import Literal

from django.utils.translation import gettext as _

from patterns.drafting.bottom import tilt_deg
from patterns.foot import MEASURE_BY_KEY, Foot
from patterns.house_sizes import nearest_sizes
from patterns.measures import complete_measures
from patterns.pieces.piece import Message, PieceSet
from workshop import bridge
from workshop.core_words import said
from workshop.models import FootVersion

State = Literal["good", "look", "stop"]
CLOSURE_GOOD_MM = 0.8  # more than this a maker feels in the boot
SEAM_GOOD_MM = 0.2
FEET_ALIKE_MM = 1.0  # common practice, no source: leather gives so much
HEEL = "heel-not-the-foots"


@dataclass(frozen=True, slots=True)
class FitLine:
    """One thing said about the fit; `piece` names the piece it is about, if one."""

    state: State
    text: str
    piece: str = ""

    @property
    def mark(self) -> str:
        """Return the sign before the line; its word is read out."""
        return {"good": "✓", "look": "!", "stop": "✕"}[self.state]

    @property
    def word(self) -> str:
        """Return what the sign means."""
        return {"good": _("fits"), "look": _("look here"), "stop": _("do not cut")}[self.state]


@dataclass(frozen=True, slots=True)
class HeelOffer:
    """One way to bring heel and foot together: the parameters to set, in words."""

    text: str
    changes: dict[str, str]
    is_taken: bool


def fit_lines(pieces: PieceSet, feet: FitLine | None = None) -> list[FitLine]:
    """Return what fits and what does not, what is wrong first; `feet` tells of the other foot."""
    told = [_said(message) for message in pieces.messages if message.level != "info"]
    good = [_girths(pieces), _seams(pieces), _stretch(pieces), _entry(pieces), _lasting(pieces)]
    lines = [line for line in (*told, *good, feet) if line is not None]
    return sorted(lines, key=lambda line: ("stop", "look", "good").index(line.state))


def feet_compared(version: FootVersion) -> FitLine | None:
    """Return how much a doll's other foot differs, None if only one has been measured."""
    other = (
        FootVersion.objects.filter(doll=version.doll_id)
        .exclude(foot_side=version.foot_side)
        .order_by("-version")
        .first()
    )
    if other is None:
        return None
    size = bridge.foot_from_version(other)
    fit = nearest_sizes(bridge.foot_from_version(version), [size])[0]
    measure, most = max(fit.differences_mm, key=lambda pair: abs(pair[1]))
    figures = {
        "side": other.get_foot_side_display(),
        "mm": abs(most),
        "measure": _(MEASURE_BY_KEY[measure].label).lower(),
    }
    if abs(most) <= FEET_ALIKE_MM:
        text = _(
            "The %(side)s foot differs by %(mm).1f mm at most: one pattern, mirrored, will do."
        )
        return FitLine("good", text % figures)
    text = _(
        "The %(side)s foot differs by %(mm).1f mm (%(measure)s): draw it by itself too, and cut"
        " each shoe by its own pieces."
    )
    return FitLine("look", text % figures)


def _said(message: Message) -> FitLine:
    words = said(message.code, message.text)
    return FitLine("stop" if message.level == "stop" else "look", words, message.piece)


def _girths(pieces: PieceSet) -> FitLine | None:
    off = [abs(girth.pattern_mm - girth.last_mm) for girth in pieces.girth_closure]
    if not off or max(off) > CLOSURE_GOOD_MM:
        return None
    places = ", ".join(station_words(girth.station) for girth in pieces.girth_closure)
    text = _("Closes round %(places)s to within %(mm).1f mm.")
    return FitLine("good", text % {"places": places, "mm": max(max(off), 0.05)})


def _seams(pieces: PieceSet) -> FitLine | None:
    if not pieces.seams:
        return None
    most = max(seam.mismatch_mm for seam in pieces.seams)
    if most > SEAM_GOOD_MM:
        return None
    if most < 0.05:
        return FitLine("good", _("Edges that are sewn together are equally long."))
    text = _("Edges that are sewn together differ by %(mm).1f mm at most.")
    return FitLine("good", text % {"mm": most})


def _stretch(pieces: PieceSet) -> FitLine | None:
    checked = [p for p in pieces.pieces if p.checks is not None and p.material == "upper"]
    limit = pieces.parameters.get("stretch_limit_pct")
    if not checked or limit is None:
        return None
    worst = max(checked, key=lambda p: p.checks.stretch_p99_off_band_pct if p.checks else 0.0)
    assert worst.checks is not None
    most = worst.checks.stretch_p99_off_band_pct
    if most > float(limit):
        return None
    text = _(
        "Most stretched spot %(most).0f %%, in the %(piece)s; this leather takes %(limit)g %%."
    )
    return FitLine("good", text % {"most": most, "piece": worst.name, "limit": float(limit)})


def _entry(pieces: PieceSet) -> FitLine | None:
    if not pieces.entry or any(message.code == "foot-not-in" for message in pieces.messages):
        return None
    tight = min(pieces.entry, key=lambda level: level.opens_mm - level.needs_mm)
    text = _(
        "The foot goes in: where it is tightest, %(height).0f mm above the ground, the shoe opens"
        " to %(opens).0f mm and the heel needs %(needs).0f mm."
    )
    figures = {"height": tight.height_mm, "opens": tight.opens_mm, "needs": tight.needs_mm}
    return FitLine("good", text % figures)


def _lasting(pieces: PieceSet) -> FitLine | None:
    short = any(message.code == "lasting-cover-short" for message in pieces.messages)
    if short or not pieces.lasting:
        return None
    cover = min(lasting.cover_min_mm for lasting in pieces.lasting)
    return FitLine(
        "good",
        _("At least %(mm).1f mm of leather lie under the insole everywhere.") % {"mm": cover},
    )


def station_words(station: str) -> str:
    """Return what a place of a girth is called."""
    return {"heel_instep": _("heel and instep"), "shaft top": _("topline")}.get(
        station, station.replace("_", " ")
    )


def heel_offers(pieces: PieceSet, foot: Foot) -> list[HeelOffer]:
    """Return the ways to bring a heel and a foot cast for another together; none when they do."""
    if not any(message.code == HEEL for message in pieces.messages):
        return []
    heel = float(pieces.parameters["heel_height_mm"])
    cast = complete_measures(foot).values_mm["heel_raise"]
    angle = tilt_deg(heel - cast, foot.foot_length_mm)
    inside = bool(pieces.parameters.get("wedge_inside"))
    offers = []
    if heel > cast:
        offers = [
            HeelOffer(
                _("an even platform of %(mm).1f mm under the whole sole") % {"mm": heel - cast},
                {"wedge_inside": "false"},
                not inside,
            ),
            HeelOffer(
                _("a wedge inside: the whole foot tilted forward by %(deg).1f°") % {"deg": angle},
                {"wedge_inside": "true"},
                inside,
            ),
        ]
    other = HeelOffer(
        _("a heel of %(mm).1f mm, as the foot is cast") % {"mm": cast},
        {"heel_height_mm": f"{cast:g}", "wedge_inside": ""},
        False,
    )
    return [*offers, other]
