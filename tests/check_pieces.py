# ruff: noqa
"""Independent look at a PIECES.json: flattening, seams, outlines, girth closure and distance to the real foot.

usage: check_pieces.py PIECES.json [FOOT.obj] ; needs numpy, scipy, shapely; prints figures, exit 1 when a limit is passed.
"""

import json
import os
import sys

import numpy as np
from scipy.spatial import cKDTree
from shapely.geometry import LinearRing, Point, Polygon

from tests import check_flat as flat

LIMITS = json.loads(os.environ.get("LIMITS", "{}"))
SEAM = LIMITS.get("seam", 0.2)
GAP = LIMITS.get("gap", 0.001)
P95 = LIMITS.get("p95", 0.10)
P99 = LIMITS.get("p99", 0.14)
CLOSURE = LIMITS.get("closure", 1.2)


def contour(V, U, T, z):
    """Length in space and on the flat of the level line at height z."""
    l3 = l2 = 0.0
    for a, b, c in T:
        pts3, pts2 = [], []
        for i, j in ((a, b), (b, c), (c, a)):
            zi, zj = V[i, 2] - z, V[j, 2] - z
            if zi * zj < 0:
                t = zi / (zi - zj)
                pts3.append(V[i] + t * (V[j] - V[i]))
                pts2.append(U[i] + t * (U[j] - U[i]))
        if len(pts3) == 2:
            l3 += np.linalg.norm(pts3[0] - pts3[1])
            l2 += np.linalg.norm(pts2[0] - pts2[1])
    return l3, l2


def load_obj(path):
    V, F = [], []
    for line in open(path):
        w = line.split()
        if not w:
            continue
        if w[0] == "v":
            V.append([float(x) for x in w[1:4]])
        elif w[0] == "f":
            i = [int(x.split("/")[0]) - 1 for x in w[1:]]
            F += [[i[0], i[k], i[k + 1]] for k in range(1, len(i) - 1)]
    return np.array(V), np.array(F)


def sample(V, F, n=60000):
    rng = np.random.default_rng(1)
    a, b, c = V[F[:, 0]], V[F[:, 1]], V[F[:, 2]]
    N = np.cross(b - a, c - a)
    area = np.linalg.norm(N, axis=1)
    k = rng.choice(len(F), n, p=area / area.sum())
    r = rng.random((n, 2))
    s = np.sqrt(r[:, 0])
    P = (
        (1 - s)[:, None] * a[k]
        + (s * (1 - r[:, 1]))[:, None] * b[k]
        + (s * r[:, 1])[:, None] * c[k]
    )
    return P, N[k] / area[k][:, None]


def main(path, obj=None):
    doc = json.load(open(path))
    bad, fig = [], {}
    res = flat.main(doc)
    s = res["summary"]
    fig["seam_mm"] = s["seam_mismatch2d_mm_worst"]
    fig["gap_mm"] = s["seam_gap3d_mm_worst"]
    fig["p95"] = s["leather_major_p95_worst"]
    fig["p99"] = s["leather_major_p99_worst"]
    if res["errors"]:
        bad.append("edges: " + "; ".join(map(str, res["errors"]))[:120])
    seamless = doc.get("style") == "open-sandal" and not [
        x for x in res["seams"] if "mismatch2d_mm" in x
    ]
    if not seamless and not [x for x in res["seams"] if "mismatch2d_mm" in x]:
        bad.append("no seam between two pieces is given")
    for name, value, limit in (
        ("seam_mm", fig["seam_mm"], SEAM),
        ("gap_mm", fig["gap_mm"], GAP),
        ("p95", fig["p95"], P95),
        ("p99", fig["p99"], P99),
    ):
        if seamless and value is None:
            continue
        if value is None or value > limit:
            bad.append(f"{name} {value} over {limit}")
    if s["flipped_total"] or s["outline_self_crossings_total"]:
        bad.append(f"flips {s['flipped_total']} crossings {s['outline_self_crossings_total']}")
    worst_net = worst_cut = closure = 0.0
    sides = []
    all3 = []
    for p in doc["pieces"]:
        net, cut = Polygon(p["net"]), Polygon(p["cut"])
        if not net.is_valid or not cut.is_valid or net.area <= 0:
            bad.append(f"{p['name']}: outline not valid")
            continue
        if not cut.buffer(0.02).contains(net):
            bad.append(f"{p['name']}: the cut outline does not hold the net outline")
        eyelets = [h for h in p.get("holes", []) if h["kind"] == "eyelet"]
        if eyelets:
            sides.append((p["name"], len(eyelets)))
            C = np.array([[h["x"], h["y"]] for h in eyelets])
            d = np.linalg.norm(C[:, None] - C[None], axis=2)
            d[np.eye(len(C), dtype=bool)] = 1e9
            pitch = float(doc.get("parameters", {}).get("eyelet_pitch_mm", 8.0))
            if len(C) > 1 and d.min() < pitch - 0.01:
                bad.append(f"{p['name']}: eyelets {d.min():.2f} mm apart, pitch {pitch}")
            if not all(net.contains(Point(*c)) for c in C):
                bad.append(f"{p['name']}: an eyelet lies outside the piece")
        if p.get("mesh"):
            V, U, T = (np.asarray(p["mesh"][k]) for k in ("vertices3d", "vertices2d", "triangles"))
            lp = max(flat.loops(T), key=len)
            ring = LinearRing(U[lp])
            worst_net = max(worst_net, ring.hausdorff_distance(LinearRing(net.exterior.coords)))
            all3.append(V)
            if p.get("material") == "upper":
                zs = np.linspace(V[:, 2].min(), V[:, 2].max(), 8)[2:-2]
                for z in zs:
                    l3, l2 = contour(V, U, T, z + 1e-4)
                    if l3 > 5:
                        closure = max(closure, abs(l2 - l3) * min(1.0, 30.0 / l3))
            for e in p.get("edges", []):
                a = e.get("allowance_mm")
                pts = np.asarray(e.get("points", []), float)
                if (
                    isinstance(a, (int, float))
                    and len(pts) > 4
                    and e.get("kind") in ("seam", "lap")
                ):
                    mid = pts[len(pts) // 3 : 2 * len(pts) // 3]
                    dist = [cut.exterior.distance(Point(*q)) for q in mid]
                    if dist:
                        worst_cut = max(worst_cut, max(abs(x - a) for x in dist))
    fig["net_vs_mesh_mm"] = worst_net
    fig["allowance_mm"] = worst_cut
    fig["closure_mm"] = closure
    if worst_net > 0.05:
        bad.append(f"net outline is {worst_net:.3f} mm off the flattened mesh")
    if worst_cut > 0.1:
        bad.append(f"an allowance is {worst_cut:.3f} mm off")
    if closure > CLOSURE:
        bad.append(f"level girth lines change by {closure:.2f} mm on the flat")
    counts = [n for _, n in sides]
    if "lace" in str(doc.get("style", "")):
        if len(sides) < 2:
            bad.append("fewer than two pieces carry eyelets")
        elif any(counts.count(n) % 2 for n in set(counts)):
            bad.append(f"eyelet counts differ: {sides}")
    kinds = {p.get("material") for p in doc["pieces"]}
    if not {"upper", "card", "sole"} <= kinds:
        bad.append(f"materials present: {sorted(map(str, kinds))}")
    if obj and all3:
        V, F = load_obj(obj)
        P, N = sample(V, F)
        Q = np.vstack(all3)
        Q = Q[(Q[:, 2] > 3) & (Q[:, 2] < V[:, 2].max() - 2)]
        d, k = cKDTree(P).query(Q)
        sign = np.sign(np.einsum("ij,ij->i", Q - P[k], N[k]))
        sd = d * sign
        fig["foot_p50"], fig["foot_p95"], fig["inside_p1"] = (
            float(np.percentile(d, 50)),
            float(np.percentile(d, 95)),
            float(np.percentile(sd, 1)),
        )
        if fig["foot_p50"] > 2.5 or fig["foot_p95"] > 6.0 or fig["inside_p1"] < -1.0:
            bad.append(
                f"surface to foot p50 {fig['foot_p50']:.2f} p95 {fig['foot_p95']:.2f} inside p1 {fig['inside_p1']:.2f} mm"
            )
    text = " ".join(f"{k}={v:.4f}" if isinstance(v, float) else f"{k}={v}" for k, v in fig.items())
    print(text)
    if bad:
        print("; ".join(bad)[:600])
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
