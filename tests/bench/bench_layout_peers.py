"""Lay the sample hides out with general libraries; ``python -m tests.bench.bench_layout_peers``.

Beside `bench_layout`, on the same machine and for the same seconds: the collision engine of the
``compas_nest`` library and the strategies of ``u_nesting``, each where it can be imported (neither
is a dependency of ours; install them beside the tests' packages). Each is asked for everything,
and for whole pairs alone. Neither can turn a piece a few degrees off its way, so each is given the
turns as drawn; a hide that is no box is given as a box with what lies outside taken for holes. What
they lay is judged by our own exact check: of pieces that break a rule the worst goes, one after
another, so only what a maker could cut is counted.
"""

import argparse
import math
import statistics
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from importlib.util import find_spec

import numpy as np
from shapely.geometry import Polygon, box

from patterns.layout import LayoutRequest
from patterns.layout.check import faults_found
from patterns.layout.ground import piece_areas_mm2, polygons_of, usable_shape
from patterns.layout.orientations import Kind, laid_ring
from patterns.layout.sets import copies_laid, sets_of_copies
from patterns.layout.table import Table
from patterns.layout.values import Placement
from tests.samples_layouts import SAMPLES, sample_request

FREE_TURNS = 360  # where a piece may turn as it likes
SPARE_GAP_MM = 0.02  # asked on top of the gap: their own checks let pieces a hair too near
STRATEGIES = ("nfp",)  # the best of its strategies here, in trials
HOPE_SHARE = 0.86  # of the leather; so much no pairs are asked for that cover more
Peer = Callable[[LayoutRequest, Sequence[Kind], int, float], Iterable[Placement]]


def placed_by_collision(
    request: LayoutRequest, kinds: Sequence[Kind], seed: int, seconds: float
) -> Iterable[Placement]:
    """Lay out with the collision engine of ``compas_nest``."""
    import compas_nest
    from compas.geometry import Polyline

    def line(ring) -> Polyline:
        points = [[float(x), float(y), 0.0] for x, y in ring]
        return Polyline([*points, points[0]])

    # It keeps no gap between pieces: so they are grown by half of it, and the leather with them.
    grown_mm = request.spacing_mm / 2.0 + SPARE_GAP_MM
    leather = usable_shape(request.hides[0]).buffer(
        grown_mm - request.edge_spacing_mm - 2.0 * SPARE_GAP_MM
    )
    outside = box(*leather.bounds).difference(leather)
    holes = [list(part.exterior.coords)[:-1] for part in polygons_of(outside)]
    sheets = compas_nest.nest_sheets()
    sheets.add_sheet(
        line(list(box(*leather.bounds).exterior.coords)[:-1]), holes=[line(ring) for ring in holes]
    )
    parts = compas_nest.nest_geo()
    for kind in kinds:
        ring = laid_ring(np.array(kind.piece.outline_mm), 0.0, kind.mirrorings[0])
        ring = Polygon(ring).buffer(grown_mm, quad_segs=2).exterior.coords[:-1]
        turns = kind.piece.rotations_deg(kind.mirrorings[0])
        parts.add_part(
            line(ring), copies=kind.quantity, rotations=FREE_TURNS if turns is None else len(turns)
        )
    result = compas_nest.opennest_collision(
        spacing=0.0,
        seed=seed,
        time_budget_secs=seconds,
        verbose=False,
    ).solve(parts, sheets)
    for row in result.placed:
        kind = kinds[row["part_index"]]
        yield Placement(
            id=kind.piece.id,
            container=request.hides[0].id,
            x_mm=row["tx"] + result.sheet_origins[0][0],
            y_mm=row["ty"] + result.sheet_origins[0][1],
            rotation_deg=math.degrees(row["angle"]) % 360.0,
            mirrored=kind.mirrorings[0],
        )


def placed_by(strategy: str) -> Peer:
    """Return the way of laying out with a strategy of ``u_nesting``."""

    def placed(
        request: LayoutRequest, kinds: Sequence[Kind], seed: int, seconds: float
    ) -> Iterable[Placement]:
        import u_nesting

        hide = request.hides[0]
        forms = []
        for number, kind in enumerate(kinds):
            ring = laid_ring(np.array(kind.piece.outline_mm), 0.0, kind.mirrorings[0])
            form = {"id": str(number), "polygon": ring.tolist(), "quantity": kind.quantity}
            turns = kind.piece.rotations_deg(kind.mirrorings[0])
            form["rotations"] = [15.0 * k for k in range(24)] if turns is None else list(turns)
            forms.append(form)
        settings = {
            "strategy": strategy,
            "spacing": request.spacing_mm + SPARE_GAP_MM,
            "margin": request.edge_spacing_mm + SPARE_GAP_MM,
            "time_limit_ms": int(1000 * seconds),
        }
        if strategy != "nfp":
            settings["seed"] = seed
        # It has no holes in a boundary: what is barred is left to the check.
        boundary = {"polygon": [list(point) for point in hide.outline_mm]}
        answer = u_nesting.solve_2d(forms, boundary, settings)
        for row in answer.get("placements", ()):
            yield _placement_of_row(row, kinds, hide.id)

    return placed


def _placement_of_row(row: dict, kinds: Sequence[Kind], hide: str) -> Placement:
    kind = kinds[int(row["geometry_id"])]
    x, y = row["position"][:2]
    return Placement(
        id=kind.piece.id,
        container=hide,
        x_mm=x,
        y_mm=y,
        rotation_deg=math.degrees(row["rotation"][0]) % 360.0,
        mirrored=kind.mirrorings[0],
    )


def mended(request: LayoutRequest, placements: Sequence[Placement]) -> list[Placement]:
    """Return the placements without those that break a rule, the oftenest at fault first."""
    kept = list(placements)
    areas = piece_areas_mm2(request)
    while faults := [fault for fault in faults_found(request, kept) if fault.rows]:
        times = Counter(row for fault in faults for row in fault.rows)
        del kept[max(times, key=lambda row: (times[row], -areas[kept[row].id]))]
    return kept


def asked_for(request: LayoutRequest, pairs: int) -> LayoutRequest:
    """Return the request for so many whole pairs and nothing else."""
    pieces = []
    for piece in request.pieces:
        share = pairs * piece.per_set / piece.quantity
        mirrored = round(piece.mirrored_quantity * share)
        pieces.append(replace(piece, quantity=pairs * piece.per_set, mirrored_quantity=mirrored))
    return replace(request, pieces=tuple(pieces))


def run(name: str, words: str, request: LayoutRequest, peer: Peer, seed: int, seconds: float):
    """Print a line for a peer's layout, mended; return pairs and density."""
    table, started = Table(request), time.monotonic()
    found = list(peer(request, table.kinds, seed, seconds))
    used = time.monotonic() - started
    kept = mended(request, found)
    areas = piece_areas_mm2(request)
    density = sum(areas[row.id] for row in kept) / table.usable_mm2
    pairs = sum(sets_of_copies(request.pieces, copies_laid(kept)).values())
    print(
        f"{name:17s} {words:34s} seed {seed}: density {density:.4f}, {pairs} pairs, {len(kept)} "
        f"pieces ({len(found) - len(kept)} taken away), {used:.1f} s",
        flush=True,
    )
    return pairs, density


def peers() -> dict[str, Peer]:
    """Return the libraries that can be imported, by what is printed for them."""
    found: dict[str, Peer] = {}
    if find_spec("compas_nest"):
        found["compas_nest collision"] = placed_by_collision
    if find_spec("u_nesting"):
        found.update({f"u_nesting {strategy}": placed_by(strategy) for strategy in STRATEGIES})
    return found


def main() -> None:
    """Read the command line and run every peer there is."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--samples", nargs="+", choices=SAMPLES, default=SAMPLES)
    options = parser.parse_args()
    if not peers():
        raise SystemExit("Neither compas_nest nor u_nesting can be imported.")
    for name in options.samples:
        request = sample_request(name)
        table = Table(request)
        pair_mm2 = sum(kind.area_mm2 * kind.per_set for kind in table.kinds)
        for words, peer in peers().items():
            odd = [
                run(name, words, request, peer, seed, options.seconds)
                for seed in range(1, options.seeds + 1)
            ]
            most = int(HOPE_SHARE * table.usable_mm2 / pair_mm2)
            print(f"{name:17s} {words}: median density {statistics.median(d for _, d in odd):.4f}")
            for pairs in range(most, 0, -1):
                asked = asked_for(request, pairs)
                whole = [
                    run(name, f"{words}, {pairs} asked", asked, peer, seed, options.seconds)[0]
                    for seed in range(1, options.seeds + 1)
                ]
                if statistics.median(whole) >= pairs:
                    break


if __name__ == "__main__":
    main()
