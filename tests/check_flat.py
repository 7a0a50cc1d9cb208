#!/usr/bin/env python3
# ruff: noqa
"""Independent checker of flattened pattern pieces. Needs numpy only.
usage: check_flat.py FILE.json [--json-only] ; reads stdin with '-'.
Input: {"pieces":[{"name","mesh":{"vertices3d":[[x,y,z]..],"vertices2d":[[x,y]..],"triangles":[[i,j,k]..]},
 "mesh_edges" (or "edges"):[{"name","vertex_ids":[..ordered..],"partner":{"piece","edge"} | null}]}]}
Strain convention: e = l2d/l3d - 1 ; stretch the leather needs when put on the last = l3d/l2d - 1 (also reported).
Principal strains come from the singular values of the linear map flat triangle -> 3D triangle (what the leather must do)."""

import json, sys
import numpy as np

BAND = 2.5  # mm along the feather edge, where pleats take the excess


def edges_of(T):
    E = np.sort(np.vstack([T[:, [0, 1]], T[:, [1, 2]], T[:, [2, 0]]]), axis=1)
    return np.unique(E, axis=0, return_counts=True)


def q(a, p):
    return float(np.percentile(a, p)) if len(a) else None


def wq(v, w, p):
    o = np.argsort(v)
    c = np.cumsum(w[o])
    return float(v[o][np.searchsorted(c, p / 100 * c[-1])])


def plen(P):
    return float(np.linalg.norm(np.diff(P, axis=0), axis=1).sum())


def self_cross(P):
    """count of proper crossings of a closed polyline (O(n^2), vectorised)."""
    n = len(P)
    A = P
    B = np.roll(P, -1, 0)
    c = 0

    def side(a, b, p):
        return (b[0] - a[0]) * (p[:, 1] - a[1]) - (b[1] - a[1]) * (p[:, 0] - a[0])

    for i in range(n - 2):
        j = np.arange(i + 2, n if i else n - 1)
        s1 = side(A[i], B[i], A[j])
        s2 = side(A[i], B[i], B[j])
        d = B[j] - A[j]
        s3 = d[:, 0] * (A[i][1] - A[j][:, 1]) - d[:, 1] * (A[i][0] - A[j][:, 0])
        s4 = d[:, 0] * (B[i][1] - A[j][:, 1]) - d[:, 1] * (B[i][0] - A[j][:, 0])
        c += int(((s1 * s2 < 0) & (s3 * s4 < 0)).sum())
    return c


def loops(T):
    d = {}
    E = np.vstack([T[:, [0, 1]], T[:, [1, 2]], T[:, [2, 0]]])
    S = set(map(tuple, E.tolist()))
    for a, b in S:
        if (b, a) not in S:
            d.setdefault(a, []).append(b)
    out = []
    while d:
        a = next(iter(d))
        lp = [a]
        while True:
            nb = d.get(lp[-1])
            if not nb:
                break
            b = nb.pop()
            if not d[lp[-1]]:
                del d[lp[-1]]
            if b == a:
                break
            lp.append(b)
        out.append(lp)
    return out


def check_piece(p):
    m = p["mesh"]
    V = np.asarray(m["vertices3d"], float)
    U = np.asarray(m["vertices2d"], float)
    T = np.asarray(m["triangles"], int)
    r = {"name": p["name"], "n_vertices": len(V), "n_triangles": len(T)}
    err = []
    if V.shape[0] != U.shape[0]:
        err.append("vertices3d and vertices2d differ in length")
    if T.min() < 0 or T.max() >= len(V):
        err.append("triangle index out of range")
    if not (np.isfinite(V).all() and np.isfinite(U).all()):
        err.append("non finite coordinate")
    if err:
        return {**r, "errors": err}
    E, cnt = edges_of(T)
    l3 = np.linalg.norm(V[E[:, 0]] - V[E[:, 1]], axis=1)
    l2 = np.linalg.norm(U[E[:, 0]] - U[E[:, 1]], axis=1)
    ok = l3 > 1e-9
    e = l2[ok] / l3[ok] - 1
    a = abs(e)
    r["edge_strain"] = {
        "p50": q(a, 50),
        "p95": q(a, 95),
        "p99": q(a, 99),
        "max": float(a.max()),
        "signed_min": float(e.min()),
        "signed_max": float(e.max()),
        "max_edges_over_0.5mm": float(a[l3[ok] >= 0.5].max()) if (l3[ok] >= 0.5).any() else None,
        "p95_edges_over_0.5mm": q(a[l3[ok] >= 0.5], 95),
        "length_weighted_mean_abs": float((a * l3[ok]).sum() / l3[ok].sum()),
        "unit": "fraction, l2d/l3d-1",
    }
    n3 = np.cross(V[T[:, 1]] - V[T[:, 0]], V[T[:, 2]] - V[T[:, 0]])
    A3 = np.linalg.norm(n3, axis=1) / 2
    d1 = U[T[:, 1]] - U[T[:, 0]]
    d2 = U[T[:, 2]] - U[T[:, 0]]
    A2 = (d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]) / 2
    maj = 1 if (A2 > 0).sum() >= (A2 < 0).sum() else -1
    r["mirrored"] = bool(maj < 0)
    A2 = A2 * maj
    r["area3d"] = float(A3.sum())
    r["area2d"] = float(A2.sum())
    r["area_ratio"] = r["area2d"] / r["area3d"]
    g = A3 > 1e-9
    ar = abs(A2[g] / A3[g] - 1)
    r["triangle_area_strain"] = {
        "p50": wq(ar, A3[g], 50),
        "p95": wq(ar, A3[g], 95),
        "max": float(ar.max()),
    }
    r["flipped_triangles"] = int((A2 < 0).sum())
    r["degenerate_2d"] = int((abs(A2) < 1e-9).sum())
    # principal stretch flat -> last
    x = V[T[:, 1]] - V[T[:, 0]]
    y = V[T[:, 2]] - V[T[:, 0]]
    lx = np.linalg.norm(x, axis=1)
    ex = x / np.maximum(lx, 1e-12)[:, None]
    yx = (y * ex).sum(1)
    yy = np.sqrt(np.maximum((y * y).sum(1) - yx**2, 0))
    g &= abs(A2) > 1e-9
    M3 = np.zeros((len(T), 2, 2))
    M3[:, 0, 0] = lx
    M3[:, 0, 1] = yx
    M3[:, 1, 1] = yy
    M2 = np.stack([d1, d2], axis=2)
    J = M3[g] @ np.linalg.inv(M2[g])
    s = np.linalg.svd(J, compute_uv=False)
    w = A3[g]
    r["leather_stretch"] = {
        "major_p50": wq(s[:, 0] - 1, w, 50),
        "major_p95": wq(s[:, 0] - 1, w, 95),
        "major_p99": wq(s[:, 0] - 1, w, 99),
        "major_max": float(s[:, 0].max() - 1),
        "minor_p05": wq(s[:, 1] - 1, w, 5),
        "minor_p01": wq(s[:, 1] - 1, w, 1),
        "minor_min": float(s[:, 1].min() - 1),
        "area_share_major_over_5pct": float(w[s[:, 0] > 1.05].sum() / w.sum()),
        "area_share_major_over_15pct": float(w[s[:, 0] > 1.15].sum() / w.sum()),
        "note": "area weighted; + stretch, - gather/compression",
    }
    # apart from the feather band: triangles whose centre lies within BAND mm of an edge of kind "lasting"
    las = [
        i
        for e in p.get("edges", [])
        if e.get("kind") == "lasting" or "feather" in e.get("name", "")
        for i in e.get("vertex_ids", [])
    ]
    if las:
        from scipy.spatial import cKDTree

        far = cKDTree(V[las]).query(V[T[g]].mean(1))[0] > BAND
        if far.any():
            r["leather_stretch_off_band"] = {
                "band_mm": BAND,
                "major_p95": wq(s[far, 0] - 1, w[far], 95),
                "major_p99": wq(s[far, 0] - 1, w[far], 99),
                "major_max": float(s[far, 0].max() - 1),
                "minor_p01": wq(s[far, 1] - 1, w[far], 1),
            }
    lp = loops(T)
    r["boundary_loops"] = len(lp)
    r["euler"] = int(len(np.unique(T)) - len(E) + len(T))
    r["nonmanifold_edges"] = int((cnt > 2).sum())
    r["outline_self_crossings"] = int(sum(self_cross(U[l]) for l in lp))
    return r


def main(doc):
    flat = []
    for p in doc["pieces"]:
        if p.get("mesh"):
            kinds = {e["name"]: e.get("kind") for e in p.get("edges", [])}
            flat.append(
                {
                    **p,
                    "edges": [
                        {"kind": kinds.get(e["name"]), **e}
                        for e in p.get(
                            "mesh_edges", [e for e in p.get("edges", []) if "vertex_ids" in e]
                        )
                    ],
                }
            )
    doc = {
        **doc,
        "pieces": flat,
    }  # pieces that are drawn flat (card, sole) have no mesh and are left out
    P = {p["name"]: p for p in doc["pieces"]}
    res = {"pieces": [check_piece(p) for p in doc["pieces"]], "seams": [], "errors": []}
    seen = set()
    for p in doc["pieces"]:
        V = np.asarray(p["mesh"]["vertices3d"], float)
        U = np.asarray(p["mesh"]["vertices2d"], float)
        for e in p.get("edges", []):
            i = np.asarray(e["vertex_ids"], int)
            l3, l2 = plen(V[i]), plen(U[i])
            rec = {
                "piece": p["name"],
                "edge": e["name"],
                "len3d": l3,
                "len2d": l2,
                "self_error_mm": l2 - l3,
                "self_error_pct": 100 * (l2 / l3 - 1) if l3 > 0 else None,
            }
            pt = e.get("partner")
            if pt:
                k = tuple(sorted([(p["name"], e["name"]), (pt["piece"], pt["edge"])]))
                if k in seen:
                    continue
                seen.add(k)
                try:
                    o = P[pt["piece"]]
                    f = next(x for x in o["edges"] if x["name"] == pt["edge"])
                except (KeyError, StopIteration):
                    res["errors"].append(
                        "partner missing: %s.%s" % (pt.get("piece"), pt.get("edge"))
                    )
                    continue
                V2 = np.asarray(o["mesh"]["vertices3d"], float)
                U2 = np.asarray(o["mesh"]["vertices2d"], float)
                j = np.asarray(f["vertex_ids"], int)
                m3, m2 = plen(V2[j]), plen(U2[j])
                rec.update(
                    partner_piece=pt["piece"],
                    partner_edge=pt["edge"],
                    partner_len3d=m3,
                    partner_len2d=m2,
                    mismatch3d_mm=l3 - m3,
                    mismatch2d_mm=l2 - m2,
                    mismatch2d_pct=100 * (l2 - m2) / (0.5 * (l2 + m2)),
                )
                # do the two edges lie on each other in 3D (either direction)? max nearest-vertex distance
                D = np.linalg.norm(V[i][:, None] - V2[j][None], axis=2)
                rec["gap3d_mm"] = float(max(D.min(1).max(), D.min(0).max()))
                # running mismatch: where along the seam the two sides drift apart (matched by 3D arc fraction)
                c = lambda Q: np.r_[0, np.cumsum(np.linalg.norm(np.diff(Q, axis=0), axis=1))]
                jj = (
                    j[::-1]
                    if np.linalg.norm(V[i][0] - V2[j][0]) > np.linalg.norm(V[i][0] - V2[j][-1])
                    else j
                )
                t = np.linspace(0, 1, 101)
                a3, a2, b3, b2 = c(V[i]), c(U[i]), c(V2[jj]), c(U2[jj])
                rec["max_drift_mm"] = float(
                    abs(np.interp(t * a3[-1], a3, a2) - np.interp(t * b3[-1], b3, b2)).max()
                )
            res["seams"].append(rec)
    R = [x for x in res["pieces"] if "edge_strain" in x]
    S = [s for s in res["seams"] if "mismatch2d_mm" in s]
    res["summary"] = {
        "pieces": len(res["pieces"]),
        "edge_strain_p95_worst": max((x["edge_strain"]["p95"] for x in R), default=None),
        "edge_strain_max_worst": max((x["edge_strain"]["max"] for x in R), default=None),
        "edge_strain_max_over_0.5mm_worst": max(
            (x["edge_strain"]["max_edges_over_0.5mm"] or 0 for x in R), default=None
        ),
        "leather_major_p95_worst": max(
            (x["leather_stretch"]["major_p95"] for x in R), default=None
        ),
        "leather_major_p99_worst": max(
            (x["leather_stretch"]["major_p99"] for x in R), default=None
        ),
        "flipped_total": sum(x["flipped_triangles"] for x in R),
        "outline_self_crossings_total": sum(x["outline_self_crossings"] for x in R),
        "seam_mismatch2d_mm_worst": max((abs(s["mismatch2d_mm"]) for s in S), default=None),
        "seam_mismatch2d_pct_worst": max((abs(s["mismatch2d_pct"]) for s in S), default=None),
        "seam_gap3d_mm_worst": max((s["gap3d_mm"] for s in S), default=None),
        "seam_drift_mm_worst": max((s["max_drift_mm"] for s in S), default=None),
    }
    return res


if __name__ == "__main__":
    f = sys.argv[1] if len(sys.argv) > 1 else "-"
    print(json.dumps(main(json.load(sys.stdin if f == "-" else open(f))), indent=1))
