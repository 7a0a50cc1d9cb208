"""Print how near lasts come to their measures, and how long they take.

Run as ``python -m tests.bench.bench_last [--many N]``: sample measures, then 30 usual and 30 odd
random sets from 40 to 110 mm; ``--many`` for more.
"""

import argparse
import os
import time

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from patterns.foot import Foot
from patterns.last import build_last
from patterns.last.fitting import forget_fitted
from tests.patterns.random_feet import random_feet
from tests.patterns.samples_feet import sample_foot, traced_foot

SLANT = "heel_instep_girth"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--many", type=int, default=30, help="random sets of each kind")
    parser.add_argument("--seed", type=int, default=20)
    parser.add_argument("--worst", type=int, default=3, help="sets to name")
    options = parser.parse_args()
    build_last(sample_foot())  # compiled code is loaded before the clock runs
    report("sample measures", [sample_foot()], 0)
    report("traced sample", [traced_foot()], 0)
    for odd in (False, True):
        feet = random_feet(options.many, seed=options.seed, odd=odd)
        report("odd sets" if odd else "usual sets", feet, options.worst)


def report(title: str, feet: list[Foot], worst: int) -> None:
    seconds, processor, slant, rest, named = [], [], [], [], []
    for foot in feet:
        forget_fitted()
        start, start_processor = time.perf_counter(), time.process_time()
        last = build_last(foot)
        seconds.append(time.perf_counter() - start)
        processor.append(time.process_time() - start_processor)
        given = [entry for entry in last.measures if not entry.inferred]
        errors = {entry.name: abs(entry.residual_percent) for entry in given}
        slant.append(errors.pop(SLANT, 0.0))
        rest.append(max(errors.values()))
        named.append((max(errors.values()), slant[-1], foot, errors))
    print(
        f"{title}: {len(feet)} lasts, {np.median(seconds):.3f} s each (most {max(seconds):.3f}),"
        f" {np.median(processor):.3f} s of one processor (most {max(processor):.3f});"
        f" measures off by at most {max(rest):.4f} % (median {np.median(rest):.4f}),"
        f" {sum(value > 0.1 for value in rest)} over 0.1 %, {sum(v > 2 for v in rest)} over 2 %;"
        f" heel-instep girth at most {max(slant):.4f} %, {sum(v > 0.5 for v in slant)} over 0.5 %,"
        f" {sum(v > 2 for v in slant)} over 2 %"
    )
    for most, off, foot, errors in sorted(named, key=lambda row: -max(row[:2]))[:worst]:
        large = {name: round(value, 3) for name, value in errors.items() if value > 0.02}
        length = foot.foot_length_mm
        ratios = {key: round(value / length, 3) for key, value in foot.measures_mm.items()}
        print(f"   {foot.name}: {most:.3f} %, heel-instep {off:.3f} %, {large}\n      {ratios}")


if __name__ == "__main__":
    main()
