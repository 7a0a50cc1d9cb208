"""What drafts have to say to the maker, whichever method drew them."""

from collections.abc import Mapping, Sequence

from patterns.foot import MEASURE_BY_KEY, Foot
from patterns.measures import CompleteMeasures
from patterns.pieces.eyelets import EyeletRow
from patterns.pieces.piece import BuiltMeasure, Message
from patterns.pieces.upper import eyelet_edge_mm
from patterns.style import Value

RESIDUAL_TOLERANCE_PCT = 2.0  # more than this between a given measure and what was built is told


def first_messages(
    foot: Foot, measures: CompleteMeasures, values: Mapping[str, Value]
) -> list[Message]:
    """Return what there is to say before a line is drawn: measures missing, knee, folds left off.

    Values a style does not have are passed over.
    """
    messages = []
    helpful = measures.most_helpful
    if helpful is not None:
        count = len(measures.inferred)
        text = (
            f"{count} of 13 measures are inferred from proportion. The one that would help most:"
            f" {MEASURE_BY_KEY[helpful].label.lower()}."
        )
        messages.append(
            Message("info", "measures-inferred", text, "", {"count": count, "measure": helpful})
        )
    knee, height = foot.knee_clearance_mm, float(values.get("boot_height_mm", 0.0))
    if knee is not None and height > knee:
        text = (
            f"The boot is {height:g} mm high but must stay below {knee:g} mm, or the knee cannot"
            " bend. Lower the boot height."
        )
        parameters = {"height_mm": height, "knee_clearance_mm": knee}
        messages.append(Message("stop", "shaft-above-knee", text, "", parameters))
    folds = [float(values.get(key, 0.0)) for key in ("topline_hem_mm", "tongue_hem_mm")]
    if foot.foot_length_mm < values["hem_least_foot_mm"] and max(folds) > 0:
        text = (
            f"On a foot under {values['hem_least_foot_mm']:g} mm topline and tongue are left raw:"
            " a fold there would only add bulk."
        )
        messages.append(Message("info", "hem-left-off", text))
    return messages


def eyelet_messages(row: EyeletRow, values: Mapping[str, Value]) -> list[Message]:
    """Return what there is to say about a row of eyelets: too many asked for, too few to lace."""
    messages = []
    asked, pitch = int(values["eyelet_count"]), values["eyelet_pitch_mm"]
    if asked > row.most:
        text = f"{asked} eyelets a side would stand closer than {pitch:g} mm; {row.most} are drawn."
        parameters = {"asked": asked, "most": row.most, "pitch_mm": pitch}
        messages.append(Message("warning", "eyelets-too-close", text, "", parameters))
    if len(row.centres_mm) < 2:
        text = (
            f"The lace edge has room for {len(row.centres_mm)} eyelet a side at a distance of"
            f" {pitch:g} mm. Lower the distance, or close the boot another way."
        )
        parameters = {"count": len(row.centres_mm), "pitch_mm": pitch}
        messages.append(Message("warning", "eyelets-few", text, "", parameters))
    if eyelet_edge_mm(values) > values["eyelet_edge_mm"]:
        text = (
            f"Eyelets are set {eyelet_edge_mm(values):.2f} mm from the lace edge, not"
            f" {values['eyelet_edge_mm']:g} mm: nearer, their flange would stand over it."
        )
        messages.append(Message("info", "eyelets-from-edge", text))
    return messages


def lasting_messages(
    margins: Sequence[tuple[str, float]], values: Mapping[str, Value]
) -> list[Message]:
    """Return what there is to say about lasting margins, each with its piece."""
    messages = []
    for piece, margin in margins:
        if margin < values["lasting_margin_mm"] - 1e-9:
            text = (
                f"The lasting margin of the {piece} is {margin:.1f} mm, not"
                f" {values['lasting_margin_mm']:g} mm: the insole is too narrow there for more."
            )
            parameters = {"margin_mm": margin, "asked_mm": values["lasting_margin_mm"]}
            messages.append(Message("info", "lasting-margin-held", text, piece, parameters))
        cover = margin - values["insole_thickness_mm"]
        if cover < values["turned_under_mm"]:
            text = (
                f"Of the {piece} only {cover:.1f} mm come under the insole; "
                f"{values['turned_under_mm']:g} mm are wanted to hold. Thin the edge and glue well."
            )
            parameters = {"cover_mm": cover, "wanted_mm": values["turned_under_mm"]}
            messages.append(Message("warning", "lasting-cover-short", text, piece, parameters))
    return messages


def measure_messages(foot: Foot, built: Sequence[BuiltMeasure]) -> list[Message]:
    """Return a warning for each given measure that what was built does not show."""
    messages = []
    for measure in built:
        off = measure.residual_percent
        if measure.name not in foot.measures_mm or abs(off) <= RESIDUAL_TOLERANCE_PCT:
            continue
        label = measure.name.replace("_", " ")
        if foot.mesh is not None:
            text = (
                f"The {label} is given as {measure.asked_mm:g} mm but the mesh shows"
                f" {measure.built_mm:.1f} mm; the mesh is used."
            )
            code = "measure-off-mesh"
        else:
            text = (
                f"The {label} is given as {measure.asked_mm:g} mm, but beside the other"
                f" measures the nearest last has {measure.built_mm:.1f} mm. Measure it again"
                " together with its neighbours."
            )
            code = "measure-not-met"
        parameters = {"measure": measure.name, "off_pct": round(off, 2)}
        messages.append(Message("warning", code, text, "", parameters))
    return messages
