"""Plan: everything settled before the first line is cut, and the layers of the last."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil

from patterns.drafting.corrections import curve_moves, foot_corrected, girth_changes
from patterns.drafting.landmarks import landmarks_of
from patterns.errors import StyleError
from patterns.foot import Foot
from patterns.last import Last, build_last, wrapped
from patterns.last.changed import girths_changed
from patterns.measures import CompleteMeasures, complete_measures
from patterns.mesh_in import mesh_leg_top_mm
from patterns.style import Style, Value
from patterns.style_lines import Layer, StyleLines

HEIGHT = "boot_height_mm"
TOP_SPARE_SHARE = 0.03  # of foot length: the last goes on this far above the highest line
TOP_STEP_SHARE = 0.1  # of foot length: lasts end at whole steps, so that one serves many heights
LAYERS: tuple[Layer, ...] = ("lining", "between", "upper", "outside")
TOE_FORM_UNDER: tuple[Layer, ...] = ("upper", "outside")


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be drawn: the foot as corrected, the style's lines, every number settled."""

    foot: Foot
    style: Style
    lines: StyleLines
    measures: CompleteMeasures
    values: Mapping[str, Value]
    landmarks: Mapping[str, float]
    last: Last
    moved_mm: Mapping[str, float]
    corrections: Mapping[str, float]
    _layers: dict[Layer, Last] = field(default_factory=dict, repr=False, compare=False)

    def layer_last(self, layer: Layer) -> Last:
        """Return the last grown to the middle of a layer, the toe form under it where it is."""
        if layer not in self._layers:
            form = self.landmarks.get("toe_form_mm", 0.0) if layer in TOE_FORM_UNDER else 0.0
            self._layers[layer] = wrapped(self.last, self.depth_mm(layer), toe_form_mm=form)
        return self._layers[layer]

    @property
    def inside_mm(self) -> float:
        """Return what lies between the bare foot and the lining: film and sock."""
        return self.landmarks["film_mm"] + self.landmarks["sock_mm"]

    def depth_mm(self, layer: Layer) -> float:
        """Return how far the middle of a layer lies outside the bare foot."""
        lining = self.landmarks["lining_thickness_mm"] if self.values["lining"] else 0.0
        leather = self.landmarks["leather_thickness_mm"]
        beyond = {
            "lining": lining / 2,
            "between": lining,
            "upper": lining + leather / 2,
            "outside": lining + 1.5 * leather,
        }
        return self.inside_mm + beyond[layer]

    def levels_mm(self) -> dict[str, float]:
        """Return the heights at which the boot must close round the level leg, by station."""
        measures = self.measures.values_mm
        levels = {"ankle": measures["ankle_height"], "calf": measures["calf_height"]}
        for number, level in enumerate(self.foot.level_girths, start=1):
            levels[f"level {number}"] = level.height_mm
        top = self.landmarks.get("boot_height_mm")
        if top is not None:
            levels["shaft top"] = top - self.landmarks["boot_rise_mm"] - 0.5
        return levels


def reach_mm(foot: Foot, style: Style, values: Mapping[str, str | float | bool]) -> float:
    """Return how high a last must go for a style with these values."""
    measures = complete_measures(foot)
    chosen = _resolved(foot, style, values, measures)
    landmarks = landmarks_of(measures.values_mm, chosen)
    top_mm = lines_of(style).reach_mm.value(landmarks) + TOP_SPARE_SHARE * foot.foot_length_mm
    if foot.mesh is not None:  # it ends where it was cut
        return top_mm
    step_mm = TOP_STEP_SHARE * foot.foot_length_mm
    return ceil(top_mm / step_mm - 1e-9) * step_mm


def plan_draft(
    foot: Foot,
    style: Style,
    values: Mapping[str, str | float | bool],
    *,
    corrections: Mapping[str, float] | None = None,
    last: Last | None = None,
) -> Plan:
    """Return the plan of a draft; see `patterns.drafting.draft.draft_pieces`."""
    lines = lines_of(style)
    wanted = dict(corrections or {})
    corrected = foot_corrected(foot, wanted)
    if corrected is not foot or last is None:
        last = build_last(corrected, top_mm=reach_mm(corrected, style, values))
    if corrected.mesh is not None:
        last = girths_changed(last, girth_changes(corrected, wanted))
    measures = complete_measures(corrected)
    chosen = _resolved(corrected, style, values, measures)
    landmarks = landmarks_of(measures.values_mm, chosen, last)
    moved = curve_moves(style, wanted)
    return Plan(corrected, style, lines, measures, chosen, landmarks, last, moved, wanted)


def _resolved(
    foot: Foot,
    style: Style,
    values: Mapping[str, str | float | bool],
    measures: CompleteMeasures,
) -> dict[str, Value]:
    """Return every parameter's value; a height nobody asked for keeps below knee and mesh."""
    chosen = style.resolved(values, measures.values_mm)
    if HEIGHT not in chosen or HEIGHT in values:
        return chosen
    most_mm = [float(chosen[HEIGHT])]
    if foot.knee_clearance_mm is not None:
        most_mm.append(foot.knee_clearance_mm)
    if foot.mesh is not None:
        most_mm.append(mesh_leg_top_mm(foot.mesh) - TOP_SPARE_SHARE * foot.foot_length_mm)
    return {**chosen, HEIGHT: round(min(most_mm), 4)}


def lines_of(style: Style) -> StyleLines:
    """Return the lines of a style, or raise StyleError if it has none to cut."""
    if style.lines is None:
        text = f'Style "{style.name}" has no lines to cut; its method must be "surface".'
        raise StyleError(text, field="style", code="style-method")
    return style.lines
