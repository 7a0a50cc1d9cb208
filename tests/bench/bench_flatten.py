"""Print how well and how fast parts of a last are laid flat: python -m tests.bench.bench_flatten.

A plain boot, toe box, two sides and the gap under the laces, is cut from the sample foot's last
and from lasts of random feet; then come surfaces whose best flat lay is known. Figures: time of
the processor, stretch and gather in percent by area, seams and girths in mm off, flipped
triangles, outlines that cross.
"""

import argparse
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from shapely import LinearRing

from patterns.drafting.fields import fields_of_last
from patterns.foot import Foot
from patterns.geometry.cut_surface import cut_surface
from patterns.geometry.flatten import flatten
from patterns.geometry.runs import Run, contour_runs, run_of_points
from patterns.geometry.strain import flipped_count, principal_stretch, weighted_percentile
from patterns.geometry.surface import (
    Surface,
    boundary_loops,
    largest_component,
    part_of,
    side_of,
)
from patterns.last import Last, build_last
from tests.patterns.geometry.surfaces import ball_cap, cone_sheet, tube_sheet
from tests.patterns.samples_feet import sample_measures

SEAMS = ("toe line", "centre", "lace", "topline")
LENGTHS_MM = (40.0, 110.0)
SPREAD = 0.05  # by which a measure of a random foot leaves proportion


@dataclass(frozen=True)
class Laid:
    """Figures of one part laid flat."""

    name: str
    triangles: int
    seconds: float
    p95_pct: float
    p99_pct: float
    gather_pct: float
    seam_off_mm: float
    drift_mm: float
    girth_off_mm: float
    flips: int
    crosses: bool


def boot_parts(last: Last) -> dict[str, Surface]:
    """Return toe box, outer and inner side and the gap under the laces of a plain boot."""
    length = last.foot_length_mm
    surface = Surface(last.points_mm, last.triangles, fields_of_last(last))
    half = last.turn_count // 2
    ridge = last.grid_mm[: last.instep_station, half]
    toe_mm = float(np.interp(0.7 * length, ridge[::-1, 0], ridge[::-1, 2]))
    surface = cut_surface(surface, "feather", surface.fields["above_sole"] - 0.012 * length)
    surface = cut_surface(surface, "topline", last.top_mm - 2.0 - surface.fields["z"])
    slant = surface.fields["x"] - 0.7 * length - 0.45 * (surface.fields["z"] - toe_mm)
    surface = cut_surface(surface, "toe line", slant)
    surface = cut_surface(surface, "centre", surface.fields["side"])
    surface = cut_surface(surface, "lace", surface.fields["from_front"] - 0.053 * length)
    above = {name: side_of(surface, name) > 0 for name in surface.curves}
    upper = above["feather"] & above["topline"]
    behind = upper & ~above["toe line"]
    masks = {
        "toe box": upper & above["toe line"],
        "outer side": behind & above["lace"] & above["centre"],
        "inner side": behind & above["lace"] & ~above["centre"],
        "gap": behind & ~above["lace"],
    }
    return {name: largest_component(part_of(surface, mask)) for name, mask in masks.items()}


def seam_runs(part: Surface) -> Iterator[Run]:
    """Yield the runs of the boundary that lie on one of the seams' curves."""
    (loop,) = boundary_loops(part.triangles)
    for name in SEAMS:
        on = part.on_curve(name)[loop]
        if on.all() or not on.any():
            continue
        first = int(np.flatnonzero(~on)[0])
        turned, on = np.roll(loop, -first), np.roll(on, -first)
        for run in np.split(turned, np.flatnonzero(on[1:] != on[:-1]) + 1):
            if len(run) > 1 and part.on_curve(name)[run[0]]:
                yield run_of_points(run)


def lay(name: str, part: Surface) -> Laid:
    """Return the figures of a part laid flat, five level girths held."""
    heights = part.fields["z"]
    levels = np.linspace(heights.min(), heights.max(), 7)[1:-1] if name != "toe box" else []
    points, triangles = part.points_mm, part.triangles
    girths = [run for level in levels for run in contour_runs(points, triangles, heights, level)]
    seams = list(seam_runs(part))
    start = time.process_time()
    flat = flatten(points, triangles, stiff_runs=seams, girth_runs=girths)
    seconds = time.process_time() - start
    major, minor, area = principal_stretch(points, triangles, flat)
    changes = [run.steps_mm(flat) - run.steps_mm(points) for run in seams]
    return Laid(
        name=name,
        triangles=len(triangles),
        seconds=seconds,
        p95_pct=100 * (weighted_percentile(major, area, 95) - 1),
        p99_pct=100 * (weighted_percentile(major, area, 99) - 1),
        gather_pct=100 * (1 - weighted_percentile(minor, area, 1)),
        seam_off_mm=max((abs(float(change.sum())) for change in changes), default=0.0),
        drift_mm=max((float(np.abs(np.cumsum(change)).max()) for change in changes), default=0.0),
        girth_off_mm=max(
            (abs(run.length_mm(flat) - run.length_mm(points)) for run in girths), default=0.0
        ),
        flips=flipped_count(triangles, flat),
        crosses=not LinearRing(flat[boundary_loops(triangles)[0]]).is_simple,
    )


def print_parts(title: str, laid: list[Laid]) -> None:
    """Print the figures of a boot's parts, one line each."""
    print(title)
    for part in laid:
        print(
            f"  {part.name:<11} {part.triangles:5d} triangles {part.seconds * 1000:5.0f} ms"
            f"  stretch p95 {part.p95_pct:5.2f} p99 {part.p99_pct:5.2f}"
            f"  gather p99 {part.gather_pct:5.2f}  seam {part.seam_off_mm:.4f}"
            f" drift {part.drift_mm:.3f} girth {part.girth_off_mm:.4f}"
            f"  flips {part.flips} crosses {part.crosses}"
        )
    total = sum(part.seconds for part in laid)
    print(f"  all: {sum(part.triangles for part in laid)} triangles in {total * 1000:.0f} ms")


def random_foot(rng: np.random.Generator) -> Foot:
    """Return a foot of any length whose measures leave the sample's proportions a little."""
    sample = sample_measures()
    scale = rng.uniform(*LENGTHS_MM) / sample["foot_length"]
    measures = {key: value * scale for key, value in sample.items()}
    for key in measures:
        if key not in ("foot_length", "heel_raise"):
            measures[key] *= rng.uniform(1 - SPREAD, 1 + SPREAD)
    return Foot("random", measures)


def print_random(count: int) -> None:
    """Print the worst figures over parts of random feet."""
    rng = np.random.default_rng(1)
    laid: list[Laid] = []
    for _ in range(count):
        parts = boot_parts(build_last(random_foot(rng)))
        laid += [lay(name, part) for name, part in parts.items()]
    print(f"{count} random feet, {len(laid)} parts")
    print(f"  flips {sum(part.flips for part in laid)}, crosses {sum(p.crosses for p in laid)}")
    for name in dict.fromkeys(part.name for part in laid):
        same = [part for part in laid if part.name == name]
        worst = {
            key: max(getattr(part, key) for part in same)
            for key in ("p95_pct", "p99_pct", "seam_off_mm", "drift_mm", "girth_off_mm", "seconds")
        }
        print(f"  {name:<11} worst " + "  ".join(f"{k} {v:.4g}" for k, v in worst.items()))


def print_known() -> None:
    """Print the figures of surfaces whose best flat lay is known."""
    for name, sheet in (("cylinder", tube_sheet()), ("cone", cone_sheet())):
        flat = flatten(sheet.points_mm, sheet.triangles)
        major, minor, _ = principal_stretch(sheet.points_mm, sheet.triangles, flat)
        print(f"{name}: strain {max(major.max() - 1, 1 - minor.min()):.1e}")
    cap = ball_cap(40.0, 24)
    flat = flatten(cap.points_mm, cap.triangles)
    major, minor, _ = principal_stretch(cap.points_mm, cap.triangles, flat)
    radius = np.radians(40.0)
    print(
        f"40 degree cap: ratio of scales {major.max() / minor.min():.4f}"
        f" (least possible {radius / np.sin(radius):.4f})"
    )


def main() -> None:
    """Lay everything flat and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--feet", type=int, default=10, help="how many random feet")
    count = parser.parse_args().feet
    print_known()
    last = build_last(Foot("sample", sample_measures()))
    start = time.process_time()
    parts = boot_parts(last)
    cutting = time.process_time() - start
    for title in ("sample foot, first time", "sample foot, again"):
        print_parts(title, [lay(name, part) for name, part in parts.items()])
    print(f"  cutting five curves and parting: {cutting * 1000:.0f} ms")
    print_random(count)


if __name__ == "__main__":
    main()
