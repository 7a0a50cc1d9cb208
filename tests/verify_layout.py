#!/usr/bin/env python3
# ruff: noqa: B905, E501
"""Independent layout checker (shapely only).

Usage: verify_layout.py INSTANCE.json LAYOUT.json [--all]

INSTANCE {"containers": [{"id", "outer": [[x,y]...], "holes": [[[x,y]...]...], "areas": [{"grade": int, "outer": [[x,y]...]}]}],
          or a single "container": {"outer", "holes"} (its id is then "hide"),
          "pieces": [{"id", "outer", "quantity": int >= 1,
                      "allowed_rotations": [deg...] | "free", "rotation_tolerance_deg": float (default 0),
                      "mirrored_quantity": int (default 0: how many of quantity are the mirror image),
                      "mirror_free": bool (any copy may be mirrored),
                      "set": str (default "pair"), "per_set": int, "per_set_mirrored": int,
                      "grade": int (the piece may lie only where no area of a larger grade number covers it)}],
          "fixed": [placement, ...] (must appear unchanged in the layout),
          "spacing_mm": float between pieces, "edge_spacing_mm": float to edges and defects (default 0)}
LAYOUT   {"placements": [{"id", "container", "x", "y", "rotation_deg", "mirrored"}]}  ("container" may be left out when there is one)
A placement = mirror (x -> -x about the piece's own origin) if mirrored, then rotate ccw about the origin, then translate by (x, y).

Density = area placed / (outer - holes) over all containers. Complete sets: per set name, the smallest number of whole sets among its
pieces; "complete_sets" is their sum. Prints one JSON object; exit 0 when ok, 1 when not, 2 on unusable input.
--all: also demand that every requested copy is placed.
"""

import json
import math
import sys

from shapely import STRtree
from shapely.affinity import affine_transform
from shapely.geometry import Polygon
from shapely.ops import unary_union

TOL = 1e-3  # mm, for spacing and for the container edge
ANG_TOL = 1e-3  # degrees
MAX_ERRORS = 50


def fail(msg):
    print(json.dumps({"ok": False, "placed": 0, "requested": 0, "density": 0.0, "errors": [msg]}))
    sys.exit(2)


def num(v):
    return isinstance(v, (int, float)) and not isinstance(v, bool) and math.isfinite(v)


def ring(pts, what):
    if not isinstance(pts, list) or len(pts) < 3:
        fail(f"{what}: a ring needs 3 points or more")
    for p in pts:
        if not (isinstance(p, (list, tuple)) and len(p) == 2 and num(p[0]) and num(p[1])):
            fail(f"{what}: a point is not two finite numbers")
    g = Polygon(pts)
    if not g.is_valid or g.area <= 0:
        fail(f"{what}: not a simple polygon")
    return g


def angle_ok(rot, allowed, tol):
    if allowed == "free":
        return True
    return any(abs((rot - a + 180.0) % 360.0 - 180.0) <= tol + ANG_TOL for a in allowed)


def place(poly, x, y, deg, mirrored):
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    m = -1.0 if mirrored else 1.0
    return affine_transform(poly, [c * m, -s, s * m, c, x, y])


def read_containers(inst):
    rows = inst.get("containers") or [{"id": "hide", **inst["container"]}]
    out = {}
    for row in rows:
        outer = ring(row["outer"], f"container {row['id']}")
        holes = [ring(h, f"hole {i}") for i, h in enumerate(row.get("holes") or [])]
        free = outer.difference(unary_union(holes)) if holes else outer
        areas = [(a["grade"], ring(a["outer"], "area")) for a in row.get("areas") or []]
        if row["id"] in out:
            fail(f"container {row['id']}: id used twice")
        out[row["id"]] = (free, areas)
    return out


def read_pieces(inst):
    pieces = {}
    for p in inst["pieces"]:
        if p["id"] in pieces:
            fail(f"piece {p['id']}: id used twice")
        if not isinstance(p["quantity"], int) or p["quantity"] < 1:
            fail(f"piece {p['id']}: quantity is not 1 or more")
        pieces[p["id"]] = (p, ring(p["outer"], f"piece {p['id']}"))
    return pieces


def count_sets(pieces, count):
    sets = {}
    for pid, (p, _) in pieces.items():
        n, m = p.get("per_set", 0), p.get("per_set_mirrored", 0)
        a, b = count.get((pid, False), 0), count.get((pid, True), 0)
        if not n:
            continue
        if p.get("mirror_free"):
            whole = [(a + b) // n]
        else:
            whole = ([a // (n - m)] if n - m else []) + ([b // m] if m else [])
        name = p.get("set", "pair")
        sets[name] = min([*whole, sets.get(name, 10**9)])
    return sets


def check(inst, lay, need_all=False):
    containers, pieces = read_containers(inst), read_pieces(inst)
    spacing, edge = inst.get("spacing_mm", 0.0), inst.get("edge_spacing_mm", 0.0)
    for name, v in (("spacing_mm", spacing), ("edge_spacing_mm", edge)):
        if not num(v) or v < 0:
            fail(f"{name}: not a number of 0 or more")
    only = next(iter(containers)) if len(containers) == 1 else None
    errors, placed, count = [], [], {}
    for k, pl in enumerate(lay.get("placements") or []):
        pid, cid = pl.get("id"), pl.get("container", only)
        if pid not in pieces or cid not in containers:
            errors.append(f"placement {k}: unknown piece {pid!r} or container {cid!r}")
            continue
        p, poly = pieces[pid]
        x, y, r, mir = pl.get("x"), pl.get("y"), pl.get("rotation_deg"), pl.get("mirrored", False)
        if not (num(x) and num(y) and num(r) and isinstance(mir, bool)):
            errors.append(f"placement {k} ({pid}): x, y, rotation_deg or mirrored is not usable")
            continue
        count[(pid, mir)] = count.get((pid, mir), 0) + 1
        if not angle_ok(
            r, p.get("allowed_rotations", [0]), float(p.get("rotation_tolerance_deg", 0) or 0)
        ):
            errors.append(f"placement {k} ({pid}): rotation {r:g} not allowed")
        g = place(poly, x, y, r, mir)
        free, areas = containers[cid]
        if not free.buffer(TOL, join_style="mitre").covers(g):
            errors.append(
                f"placement {k} ({pid}): {g.difference(free).area:.3f} mm2 outside the usable area"
            )
        elif edge and g.distance(free.boundary) < edge - TOL:
            errors.append(
                f"placement {k} ({pid}): {g.distance(free.boundary):.3f} mm from an edge or defect, {edge:g} wanted"
            )
        if p.get("grade") is not None:
            for grade, area in areas:
                if grade > p["grade"] and g.intersection(area).area > TOL:
                    errors.append(
                        f"placement {k} ({pid}): lies on an area of grade {grade}, needs {p['grade']}"
                    )
        placed.append((k, pid, cid, g))
    for f in inst.get("fixed") or []:
        if not any(
            all(pl.get(key, only if key == "container" else None) == v for key, v in f.items())
            for pl in lay.get("placements") or []
        ):
            errors.append(f"fixed placement of {f.get('id')} is missing or moved")
    for pid, (p, _) in pieces.items():
        q, mq = p["quantity"], p.get("mirrored_quantity", 0)
        a, b = count.get((pid, False), 0), count.get((pid, True), 0)
        if a + b > q:
            errors.append(f"piece {pid}: {a + b} placed, {q} requested")
        if not p.get("mirror_free"):
            if b > mq:
                errors.append(f"piece {pid}: {b} mirrored placed, {mq} requested")
            if a > q - mq:
                errors.append(f"piece {pid}: {a} not mirrored placed, {q - mq} requested")
        if need_all and a + b < q:
            errors.append(f"piece {pid}: {a + b} of {q} placed")
    worst = None
    for cid in containers:
        here = [row for row in placed if row[2] == cid]
        geoms = [g for *_, g in here]
        if len(geoms) < 2:
            continue
        ii, jj = STRtree(geoms).query(geoms, predicate="dwithin", distance=spacing + 1.0)
        for i, j in zip(ii, jj):
            if i >= j:
                continue
            d = geoms[i].distance(geoms[j])
            if d == 0.0 and geoms[i].buffer(-TOL).intersects(geoms[j]):
                d = -1.0
                msg = f"overlap {geoms[i].intersection(geoms[j]).area:.3f} mm2"
            else:
                msg = f"gap {d:.4f} mm, {spacing:g} wanted"
            worst = d if worst is None else min(worst, d)
            if d < spacing - TOL:
                errors.append(
                    f"placements {here[i][0]} ({here[i][1]}) and {here[j][0]} ({here[j][1]}): {msg}"
                )
    area = sum(g.area for *_, g in placed)
    usable = sum(free.area for free, _ in containers.values())
    requested = sum(p["quantity"] for p, _ in pieces.values())
    sets = count_sets(pieces, count)
    return {
        "ok": not errors,
        "placed": len(placed),
        "requested": requested,
        "density": round(area / usable, 6),
        "placed_area_mm2": round(area, 2),
        "usable_area_mm2": round(usable, 2),
        "all_placed": len(placed) == requested,
        "complete_sets": sum(sets.values()) if sets else None,
        "sets": sets,
        "smallest_gap_mm": None if worst is None else round(worst, 4),
        "errors": errors[:MAX_ERRORS],
        "error_count": len(errors),
    }


def main(argv):
    args = [a for a in argv if not a.startswith("--")]
    if len(args) != 2:
        fail("usage: verify_layout.py INSTANCE.json LAYOUT.json [--all]")
    try:
        with open(args[0]) as f:
            inst = json.load(f)
        with open(args[1]) as f:
            lay = json.load(f)
        out = check(inst, lay, "--all" in argv)
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as e:
        fail(f"{type(e).__name__}: {e}")
    print(json.dumps(out))
    return 0 if out["ok"] else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
