"""Draw a last from four sides: outer side, above, from the toe and from behind."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError

from patterns.drawing.drawing import Box, Drawing, Fill, Stroke, Words, box_round, joined
from patterns.drawing.view import NearSurface, View, shadow
from patterns.last.last import Last
from patterns.mesh.section import SECTION_TOP
from patterns.pieces.piece import Point

LAST_DRAWING = "last drawing 1"
WORDS_MM = 3.4
CAPTION_MM = 3.6
GAP_MM = 14.0
SECTIONS_SHOWN = 18
NEAR_A_GIRTH = 0.3  # of the distance of two sections
LABEL_GAP_MM = 2.2

# What each girth is called on the drawing, from the ground up.
GIRTHS: Mapping[str, str] = {
    "ball_girth": "ball",
    "instep_girth": "instep",
    "heel_instep_girth": "heel and instep",
    "ankle_girth": "ankle",
    "calf_girth": "calf",
}
LEVEL_GIRTHS: Mapping[str, str] = {"ankle_girth": "ankle_height", "calf_girth": "calf_height"}

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Seen:
    """One view drawn about the origin of its own paper, and its outline."""

    drawing: Drawing
    outline: tuple[Point, ...]

    @property
    def box(self) -> Box:
        return box_round(self.outline)


def draw_last(last: Last) -> Drawing:
    """Return a last from four sides at true scale: its outline, sections, and girths as taped.

    The outer side stands top left with the view from above under it, point below point; the views
    from the toe and from behind stand beside it on the same ground.
    """
    girths = girth_lines(last)
    side = _side_view(last, girths)
    above = _view(last, _above(last), girths, f"from above, foot {last.foot_length_mm:.1f} mm long")
    toe = _view(last, _from_toe(last), girths, "from the toe")
    behind = _view(last, _from_behind(last), girths, "from behind")
    right = side.drawing.extents.right_mm + GAP_MM / 2
    parts = [side.drawing]
    for view in (toe, behind):
        parts.append(view.drawing.moved(right - view.drawing.extents.left_mm, 0.0))
        right += view.drawing.extents.width_mm + GAP_MM
    below = side.drawing.extents.bottom_mm - GAP_MM / 2 - above.drawing.extents.top_mm
    parts.append(above.drawing.moved(0.0, below))
    return joined(parts)


def _outer_side(last: Last) -> View:
    return View("outer side", (-float(last.lateral_sign), 0.0, 0.0), (0.0, 0.0, 1.0))


def _above(last: Last) -> View:
    sign = float(last.lateral_sign)
    return View("from above", (-sign, 0.0, 0.0), (0.0, -sign, 0.0))


def _from_toe(_last: Last) -> View:
    return View("from the toe", (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def _from_behind(_last: Last) -> View:
    return View("from behind", (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))


def _view(last: Last, view: View, girths: Mapping[str, FloatArray], caption: str) -> _Seen:
    """Return one view with its caption below, its breadth beside the caption."""
    outline = shadow(view, last.grid_mm)
    surface = NearSurface(view, last.grid_mm)
    strokes = [
        Stroke(run, "detail")
        for line, closed in _form_lines(last, girths)
        for run in surface.seen_runs(line, closed=closed)
        if len(run) > 1
    ]
    strokes += [
        Stroke(run, "measure thin")
        for line in girths.values()
        for run in surface.seen_runs(line, closed=True)
        if len(run) > 1
    ]
    strokes.append(Stroke(outline, "contour", closed=True))
    box = box_round(outline)
    words = Words(
        caption,
        (box.left_mm + box.right_mm) / 2,
        min(box.bottom_mm, 0.0 if view.up[2] else box.bottom_mm) - 6.5,
        CAPTION_MM,
        "middle",
        face="italic",
        ink="quiet",
    )
    if view.up[2]:
        strokes.append(Stroke(((box.left_mm - 4, 0.0), (box.right_mm + 4, 0.0)), "witness"))
    return _Seen(Drawing(tuple(strokes), (Fill(outline, "foot"),), (words,)), outline)


def _form_lines(last: Last, girths: Mapping[str, FloatArray]) -> list[tuple[FloatArray, bool]]:
    """Return the lines that show the form: sections evenly apart, and the two middle lines.

    A section too near to a girth is left out: two lines so close look like a slip of the pen.
    """
    ridge = last.grid_mm[:, last.turn_count // 2]
    along = np.concatenate([[0.0], np.linalg.norm(np.diff(ridge, axis=0), axis=1).cumsum()])
    wanted = np.linspace(0.0, along[-1], SECTIONS_SHOWN + 2)[1:-1]
    taken = np.vstack([np.zeros((0, 3)), *girths.values()])
    near_mm = NEAR_A_GIRTH * (wanted[1] - wanted[0])
    stations = [
        k
        for k in sorted({int(k) for k in np.searchsorted(along, wanted)})
        if not len(taken) or np.linalg.norm(taken - ridge[k], axis=1).min() > near_mm
    ]
    middles = (last.grid_mm[:, 0], last.grid_mm[:, last.turn_count // 2])
    return [*((last.grid_mm[k], True) for k in stations), *((line, False) for line in middles)]


def _side_view(last: Last, girths: Mapping[str, FloatArray]) -> _Seen:
    """Return the outer side with every girth named and its figure."""
    view = _outer_side(last)
    seen = _view(last, view, girths, view.name)
    built = {measure.name: measure.built_mm for measure in last.measures}
    words: list[Words] = []
    leaders: list[Stroke] = []
    for key, line in girths.items():
        figure = f" {built[key]:.1f}" if key in built else ""
        label, leader = _girth_label(GIRTHS[key] + figure, key, view, line, seen.box)
        words.append(label)
        leaders.append(leader)
    words = _apart(words)
    leaders = [
        Stroke((leader.points_mm[0], (_near_end(label), label.y_mm + 1.1)), "leader")
        for label, leader in zip(words, leaders, strict=True)
    ]
    top = view.flat(last.grid_mm[-1])
    size = Words(
        f"{last.top_mm:.1f} mm high",
        float(top[:, 0].mean()),
        float(top[:, 1].max()) + 2.4,
        WORDS_MM,
        "middle",
        ink="quiet",
    )
    more = Drawing(tuple(leaders), words=(*words, size))
    return _Seen(joined((seen.drawing, more)), seen.outline)


def _near_end(label: Words) -> float:
    """Return where a leader meets a label: its start, or its end where it is written leftwards."""
    return label.x_mm + (0.8 if label.anchor == "end" else -0.8)


def _girth_label(
    text: str, key: str, view: View, line: FloatArray, box: Box
) -> tuple[Words, Stroke]:
    """Return a girth's words beside the outline and the leader's first point on the line.

    All labels stand on the toe's side, over the forefoot, where a foot leaves the paper free; the
    heel's own girth stands behind the heel.
    """
    flat = view.flat(line)
    toe_way = 1.0 if view.right[0] > 0 else -1.0
    at_heel = key == "heel_instep_girth"
    way = -toe_way if at_heel else toe_way
    if at_heel:
        x, y = (float(value) for value in flat[flat[:, 1].argmin()])
        edge = box.left_mm if way < 0 else box.right_mm
        at = (edge + way * LABEL_GAP_MM * 1.5, y + 5.0)
    elif key in LEVEL_GIRTHS:
        x, y = (float(value) for value in flat[(way * flat[:, 0]).argmax()])
        at = (x + way * LABEL_GAP_MM * 2, y - 1.0)
    else:
        x, y = (float(value) for value in flat[flat[:, 1].argmax()])
        at = (x + way * LABEL_GAP_MM * 2, y + LABEL_GAP_MM * 2.4)
    label = Words(text, at[0], at[1], WORDS_MM, "start" if way > 0 else "end")
    return label, Stroke(((x, y), (x, y)), "leader")


def _apart(words: list[Words]) -> list[Words]:
    """Return the labels moved up where one would stand in another."""
    placed: list[Words] = []
    for label in sorted(words, key=lambda each: each.y_mm):
        y = label.y_mm
        for other in placed:
            near = abs(y - other.y_mm) < WORDS_MM * 1.15
            if near and label.anchor == other.anchor and _overlap(label, other):
                y = other.y_mm + WORDS_MM * 1.15
        placed.append(Words(label.text, label.x_mm, y, label.size_mm, label.anchor, ink=label.ink))
    by_text = {label.text: label for label in placed}
    return [by_text[label.text] for label in words]


def _overlap(one: Words, other: Words) -> bool:
    a, b = box_round(one.ring()), box_round(other.ring())
    return a.left_mm < b.right_mm + 1 and b.left_mm < a.right_mm + 1


# --- girths -----------------------------------------------------------------------------------


def girth_lines(last: Last) -> dict[str, FloatArray]:
    """Return the taut line of every girth the last reaches, shape (n, 3), by the measure's key."""
    length, lift = last.foot_length_mm, last.heel_raise_mm
    top_mm = SECTION_TOP * length + lift
    planes: dict[str, tuple[FloatArray, FloatArray, float]] = {}
    inner, outer = ball_points(last)
    across = outer - inner
    planes["ball_girth"] = (inner, np.array([across[1], -across[0], 0.0]), np.inf)
    half = np.array([length / 2, 0.0, 0.0])
    planes["instep_girth"] = (half, np.array([1.0, 0.0, 0.0]), top_mm)
    section = _section(last, *planes["instep_girth"])
    if len(section):
        heel = np.array([0.04 * length, 0.0, lift])
        slant = np.cross(section[section[:, 2].argmax()] - heel, [0.0, 1.0, 0.0])
        planes["heel_instep_girth"] = (heel, slant, top_mm)
    level = np.array([0.0, 0.0, 1.0])
    asked = {measure.name: measure.asked_mm for measure in last.measures}
    for key, height in LEVEL_GIRTHS.items():
        if height in asked:
            planes[key] = (np.array([0.0, 0.0, asked[height]]), level, np.inf)
    lines = {key: _taut(last, *plane) for key, plane in planes.items()}
    return {key: lines[key] for key in GIRTHS if key in lines and len(lines[key]) > 2}


def ball_points(last: Last) -> tuple[FloatArray, FloatArray]:
    """Return the widest points of the forefoot, the inner and the outer one."""
    points = last.points_mm
    along = points[:, 0] / last.foot_length_mm
    low = points[:, 2] < 0.2 * last.foot_length_mm
    outward = points[:, 1] * last.lateral_sign
    inner = np.where(low & (along > 0.62) & (along < 0.80), outward, np.inf).argmin()
    outer = np.where(low & (along > 0.52) & (along < 0.75), outward, -np.inf).argmax()
    return points[inner], points[outer]


def _section(last: Last, origin: FloatArray, normal: FloatArray, top_mm: float) -> FloatArray:
    """Return the points in which a plane cuts the last's triangles, shape (n, 3)."""
    points, triangles = last.points_mm, last.triangles
    height = (points - origin) @ (normal / np.linalg.norm(normal))
    found = []
    for k in range(3):
        start, end = triangles[:, k], triangles[:, (k + 1) % 3]
        a, b = height[start], height[end]
        cut = (a < 0) != (b < 0)
        share = (a[cut] / (a[cut] - b[cut]))[:, None]
        found.append(points[start[cut]] + share * (points[end[cut]] - points[start[cut]]))
    section = np.vstack(found)
    return np.asarray(section[section[:, 2] <= top_mm], dtype=float)


def _taut(last: Last, origin: FloatArray, normal: FloatArray, top_mm: float) -> FloatArray:
    """Return the line a tape takes round a section, its points in order; none where it misses."""
    section = _section(last, origin, normal, top_mm)
    unit = normal / np.linalg.norm(normal)
    across = np.cross(unit, [0.0, 0.0, 1.0] if abs(unit[2]) < 0.9 else [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    flat = np.column_stack([section @ across, section @ np.cross(unit, across)])
    if len(flat) < 3:
        return np.zeros((0, 3))
    try:
        return np.asarray(section[ConvexHull(flat).vertices], dtype=float)
    except QhullError:
        return np.zeros((0, 3))
