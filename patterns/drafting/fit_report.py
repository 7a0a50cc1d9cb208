"""The fit report: everything measured on a draft, and what it means in a maker's words."""

from collections.abc import Mapping, Sequence

import numpy as np

from patterns.drafting.plan import Plan
from patterns.geometry.curves import polyline_length_mm
from patterns.geometry.runs import way_along_mm
from patterns.pieces.eyelets import EyeletRow
from patterns.pieces.messages import (
    eyelet_messages,
    first_messages,
    lasting_messages,
    measure_messages,
)
from patterns.pieces.piece import (
    EdgeName,
    EntryLevel,
    GirthClosure,
    Lasting,
    Message,
    Piece,
    Seam,
)

LEG_GUESS_SHARE = 0.15  # of foot length: so far above the highest girth a leg is much the same
CLOSURE_TOLERANCE_MM = 0.8  # more than this a maker feels in the boot
# Common practice, no source: drawn on with a shoe horn the leather gives so much.
ENTRY_GIVE = 0.03
DRIFT_SAMPLES = 101


def measured_seams(pieces: Sequence[Piece]) -> list[Seam]:
    """Return every pair of edges sewn together: their lengths, and how far marks drift apart.

    Drift is the greatest distance, along the seam, between the two marks that meet at one place
    of the last.
    """
    edges = {(piece.name, edge.name): (piece, edge) for piece in pieces for edge in piece.edges}
    seams: list[Seam] = []
    done: set[frozenset[tuple[str, str]]] = set()
    for own, (piece, edge) in edges.items():
        if edge.partner is None:
            continue
        other = (edge.partner.piece, edge.partner.edge)
        pair = frozenset({own, other})
        if pair in done or other not in edges:
            continue
        done.add(pair)
        partner, partner_edge = edges[other]
        lengths = [polyline_length_mm(e.points_mm) for e in (edge, partner_edge)]
        drift = _drift_mm(_ways(piece, edge.name), _ways(partner, partner_edge.name))
        seams.append(Seam(EdgeName(*own), EdgeName(*other), lengths[0], lengths[1], drift))
    return seams


def _ways(piece: Piece, edge: str) -> tuple[np.ndarray, np.ndarray]:
    """Return the way along an edge at each of its points, on the last and on the flat."""
    assert piece.mesh is not None
    ids = list(dict(piece.mesh.edge_points)[edge])
    return way_along_mm(piece.mesh.points_mm[ids]), way_along_mm(piece.mesh.flat_mm[ids])


def _drift_mm(own: tuple[np.ndarray, np.ndarray], other: tuple[np.ndarray, np.ndarray]) -> float:
    shares = np.linspace(0.0, 1.0, DRIFT_SAMPLES)
    mine = np.interp(shares * own[0][-1], *own)
    back_last, back_flat = (way[-1] - way[::-1] for way in other)  # partners run against each other
    theirs = np.interp(shares * back_last[-1], back_last, back_flat)
    return float(np.abs(mine - theirs).max())


def fit_messages(
    plan: Plan,
    pieces: Sequence[Piece],
    closures: Sequence[GirthClosure],
    lasting: Sequence[Lasting],
    row: EyeletRow | None,
    entry: Sequence[EntryLevel],
) -> list[Message]:
    """Return everything a maker should know about the fit, the worst not hidden."""
    messages = first_messages(plan.foot, plan.measures, plan.values)
    messages += measure_messages(plan.foot, plan.last.measures)
    messages += _leg_messages(plan)
    messages += _closure_messages(closures)
    messages += _stretch_messages(pieces, plan.landmarks)
    materials = {piece.name: piece.material for piece in pieces}
    margins = [(entry.piece, entry.margin_mm) for entry in lasting
               if materials[entry.piece] == "upper"]  # fmt: skip
    messages += lasting_messages(margins, plan.values)
    if row is not None:
        messages += eyelet_messages(row, plan.values)
    messages += _entry_messages(entry)
    return messages


def _leg_messages(plan: Plan) -> list[Message]:
    """Return a warning where a shaft goes above the highest girth there is."""
    height_mm = plan.landmarks.get("boot_height_mm", 0.0)
    measures = plan.foot.measures_mm
    known = [level.height_mm for level in plan.foot.level_girths]
    known += [measures[f"{place}_height"] for place in ("calf", "ankle")
              if f"{place}_height" in measures and f"{place}_girth" in measures]  # fmt: skip
    if plan.foot.mesh is not None or not known:
        return []
    if height_mm <= max(known) + LEG_GUESS_SHARE * plan.foot.foot_length_mm:
        return []
    text = (
        f"The leg is measured up to {max(known):.0f} mm, the shaft goes to {height_mm:.0f} mm and"
        " is drawn straight up from there. Add level girths up to its topline."
    )
    parameters = {"known_mm": max(known), "height_mm": height_mm}
    return [Message("warning", "leg-not-measured", text, "", parameters)]


def _closure_messages(closures: Sequence[GirthClosure]) -> list[Message]:
    off = {c.station: c.pattern_mm - c.last_mm for c in closures}
    large = {name: mm for name, mm in off.items() if abs(mm) > CLOSURE_TOLERANCE_MM}
    if not large:
        return []
    places = "; ".join(
        f"{name.replace('_', '-')} {abs(mm):.1f} mm too {'wide' if mm > 0 else 'tight'}"
        for name, mm in large.items()
    )
    text = (
        f"Cut as drawn the pieces close round the last with a difference: {places}. Take it up"
        " where it closes, or correct that girth."
    )
    parameters = {f"{name}_mm": round(mm, 2) for name, mm in large.items()}
    return [Message("warning", "girth-off", text, "", parameters)]


def _stretch_messages(pieces: Sequence[Piece], numbers: Mapping[str, float]) -> list[Message]:
    limit = numbers["stretch_limit_pct"]
    messages = []
    for piece in pieces:
        if piece.checks is None or piece.material not in ("upper", "lining"):
            continue
        most = piece.checks.stretch_p99_off_band_pct
        if most <= limit:
            continue
        what = (
            "Give the toe a dart or split it, build the toe lower, or take a softer leather"
            if piece.name.startswith(("toe box", "vamp"))
            else "Part it once more, or take a softer leather"
        )
        text = (
            f"The most stretched spot of the {piece.name} needs {most:.0f} %, this leather takes"
            f" {limit:.0f} %. {what}."
        )
        parameters = {"most_pct": round(most, 2), "limit_pct": limit}
        messages.append(Message("warning", "stretch-over-limit", text, piece.name, parameters))
    return messages


def _entry_messages(entry: Sequence[EntryLevel]) -> list[Message]:
    short = [level for level in entry if level.needs_mm > (1 + ENTRY_GIVE) * level.opens_mm]
    if not short:
        return []
    worst = max(short, key=lambda level: level.needs_mm - level.opens_mm)
    lack = worst.needs_mm - worst.opens_mm
    text = (
        f"The foot will not go in: {worst.height_mm:.0f} mm above the ground it opens to"
        f" {worst.opens_mm:.1f} mm, the heel needs {worst.needs_mm:.1f} mm, {lack:.1f} mm more."
        " Open the front further down, widen the lace gap, lower the top, or close it another way."
    )
    parameters = {"height_mm": round(worst.height_mm, 1), "lacks_mm": round(lack, 2)}
    return [Message("warning", "foot-not-in", text, "", parameters)]


def bulk_messages(pieces: Sequence[Piece], numbers: Mapping[str, float]) -> list[Message]:
    """Return a warning where three layers at a turned edge are too thick for the boot's size."""
    folded = [p.name for p in pieces for e in p.edges
              if e.kind == "hem" and e.allowance_mm > 0 and p.material == "upper"]  # fmt: skip
    lining = numbers["lining_thickness_mm"] if numbers["lining"] else 0.0
    bulk = 2 * numbers["leather_thickness_mm"] + lining
    most = numbers["bulk_limit_mm"]
    if not folded or bulk <= most:
        return []
    text = (
        f"Turned edges come to {bulk:.1f} mm with the lining; on this size more than {most:.1f} mm"
        " look clumsy. Skive the folds to half, or leave the edges raw."
    )
    parameters = {"bulk_mm": round(bulk, 2), "limit_mm": round(most, 2)}
    return [Message("info", "edge-bulky", text, folded[0], parameters)]
