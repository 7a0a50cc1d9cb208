"""How well and how fast pieces are cut: `python -m tests.bench.bench_draft [--feet N] [--mesh]`.

Prints, for the sample feet and for random sets of measures, every figure of the fit: measures
rebuilt, seams, girths, stretch, flips, allowances, and the seconds of a first and a second draft.
Never run by the tests: speed depends on the machine.
"""

import argparse
import json
import resource
import statistics
import time
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np
import shapely

from patterns.drafting import draft_pieces, reach_mm
from patterns.errors import PatternError
from patterns.exchange.foot_file import foot_from_document
from patterns.foot import Foot
from patterns.last import build_last
from patterns.last.fitting import forget_fitted
from patterns.pieces.piece import PieceSet
from patterns.style import Style, load_style, style_names
from tests.patterns.random_feet import random_feet

MOVED = {"seam_mm": 0.05, "boot_height_mm": -0.3, "toe_line_pct": 0.3, "lace_gap_mm": 0.1}
REDRAWS = 8
FEET = Path(__file__).resolve().parents[1] / "data" / "feet"


@dataclass(frozen=True)
class Figures:
    """What is printed of one draft."""

    name: str
    first_s: float
    again_s: float
    residual_pct: float
    seam_mm: float
    drift_mm: float
    girth_mm: float
    side_p95: float
    side_p99: float
    toe_p95: float
    toe_p99: float
    flips: int
    crossings: int
    stops: int


def main() -> None:
    """Read the command line and print a line for each draft, then the worst of each figure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--feet", type=int, default=30, help="random sets of measures")
    parser.add_argument("--odd", action="store_true", help="odd sets instead of usual ones")
    parser.add_argument("--style", default="lace-up-ankle-boot")
    parser.add_argument("--seed", type=int, default=20)
    options = parser.parse_args()
    style = load_style(options.style)
    print(HEADER)
    samples = _samples(options.style)
    for foot in samples:
        _print(_figures(foot, style))
    _print_redraws(samples[0], style)
    found = []
    for foot in random_feet(options.feet, seed=options.seed, odd=options.odd):
        try:
            found.append(_figures(foot, style))
        except PatternError as error:
            print(f"{foot.name}: {error}")
            continue
        _print(found[-1])
    if found:
        _print_summary(found)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MB; styles there are: {', '.join(style_names())}")


HEADER = (
    "foot              first  again   asked   seam  drift  girth  side p95 p99   toe p95 p99"
    "  flips crossings stops"
)


def _samples(style: str) -> list[Foot]:
    name = "sample_leg" if style.startswith("tall") else "sample_foot"
    document = json.loads((FEET / f"{name}.json").read_text(encoding="utf-8"))
    mesh = (FEET / str(document["mesh"])).read_bytes()
    whole = foot_from_document({**document, "name": "sample mesh"}, mesh_content=mesh)
    bare = {k: v for k, v in document.items() if k not in ("mesh", "mesh_unit")}
    return [whole, foot_from_document({**bare, "name": "sample measures"})]


def _figures(foot: Foot, style: Style) -> Figures:
    forget_fitted()  # the sample's mesh has the measures of the sample without it
    start = time.perf_counter()
    last = build_last(foot, top_mm=reach_mm(foot, style, {}))
    pieces = draft_pieces(foot, style, {}, last=last)
    first = time.perf_counter() - start
    start = time.perf_counter()
    draft_pieces(foot, style, {"seam_mm": 3.0}, last=last)
    again = time.perf_counter() - start
    return Figures(foot.name, first, again, *_fit(pieces), *_stretch(pieces), *_faults(pieces))


def _print_redraws(foot: Foot, style: Style) -> None:
    """Print how long pieces take after each of some lines has moved, a little more every time."""
    last = build_last(foot, top_mm=reach_mm(foot, style, {}))
    before = draft_pieces(foot, style, {}, last=last).parameters
    for key, step in MOVED.items():
        if key not in before:
            continue
        seconds = []
        for count in range(1, REDRAWS + 1):
            start = time.perf_counter()
            draft_pieces(foot, style, {key: float(before[key]) + count * step}, last=last)
            seconds.append(time.perf_counter() - start)
        print(
            f"redraw, {key:16s} median {statistics.median(seconds):5.2f}s  least"
            f" {min(seconds):5.2f}s  worst {max(seconds):5.2f}s"
        )


def _fit(pieces: PieceSet) -> tuple[float, float, float, float]:
    asked = [abs(m.residual_percent) for m in pieces.measures if not m.inferred and m.asked_mm]
    return (
        max(asked, default=0.0),
        max((seam.mismatch_mm for seam in pieces.seams), default=0.0),
        max((seam.drift_mm for seam in pieces.seams), default=0.0),
        max((abs(c.pattern_mm - c.last_mm) for c in pieces.girth_closure), default=0.0),
    )


def _stretch(pieces: PieceSet) -> tuple[float, float, float, float]:
    checked = {p.name: p.checks for p in pieces.pieces if p.checks is not None}
    toes = [c for name, c in checked.items() if name.startswith(("toe", "vamp"))]
    sides = [c for name, c in checked.items() if not name.startswith(("toe", "vamp"))]
    return (
        max((c.stretch_p95_pct for c in sides), default=0.0),
        max((c.stretch_p99_pct for c in sides), default=0.0),
        max((c.stretch_p95_pct for c in toes), default=0.0),
        max((c.stretch_p99_pct for c in toes), default=0.0),
    )


def _faults(pieces: PieceSet) -> tuple[int, int, int]:
    rings = [ring for p in pieces.pieces for ring in (p.net_mm, p.cut_mm)]
    valid = shapely.is_valid([shapely.Polygon(ring) for ring in rings])
    return (
        sum(p.checks.flips for p in pieces.pieces if p.checks is not None),
        int(np.count_nonzero(~valid)),
        sum(m.level == "stop" for m in pieces.messages),
    )


def _print(f: Figures) -> None:
    print(
        f"{f.name:16s} {f.first_s:5.2f}s {f.again_s:5.2f}s {f.residual_pct:6.3f}% {f.seam_mm:6.4f}"
        f" {f.drift_mm:6.3f} {f.girth_mm:6.3f}    {f.side_p95:5.2f} {f.side_p99:5.2f}"
        f"     {f.toe_p95:5.2f} {f.toe_p99:5.2f} {f.flips:5d} {f.crossings:6d} {f.stops:6d}",
        flush=True,
    )


def _print_summary(found: list[Figures]) -> None:
    names = [field.name for field in fields(Figures)]
    for name in names[1:]:
        values = [getattr(figures, name) for figures in found]
        print(f"{name:14s} median {statistics.median(values):8.4f}   worst {max(values):8.4f}")


if __name__ == "__main__":
    main()
