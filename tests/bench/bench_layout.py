"""Measure layouts of the sample hides; run as ``python -m tests.bench.bench_layout [SEEDS]``.

Prints the share of the leather laid with pieces, whole pairs, steps and seconds at 5 and at 20
seconds, and how long 20 steps take. ``SEEDS`` is how many seeds to run at 5 seconds (default 2);
at 20 seconds the first seed alone is run.
"""

import sys
import time

from patterns.layout import lay_out
from tests.samples_layouts import SAMPLES, sample_request, verified


def measured(name: str, seed: int, **effort: float) -> str:
    """Return one line of figures for a run, after the independent check."""
    request = sample_request(name)
    started = time.monotonic()
    layout = lay_out(request, seed=seed, clock=time.monotonic, **effort)
    taken_s = time.monotonic() - started
    verified(request, layout)
    wanted = ", ".join(f"{key} {value:g}" for key, value in effort.items())
    return (
        f"{name:17s} {wanted:11s} seed {seed}: density {layout.density:.4f}, "
        f"{layout.complete_sets} pairs, {layout.placed} of {layout.requested} pieces, "
        f"{layout.steps} steps, {taken_s:.2f} s"
    )


def main() -> None:
    """Run every sample and print."""
    seeds = range(1, 1 + (int(sys.argv[1]) if len(sys.argv) > 1 else 2))
    for name in SAMPLES:
        print(measured(name, 1, steps=20), flush=True)
        for seed in seeds:
            print(measured(name, seed, seconds=5.0), flush=True)
        print(measured(name, 1, seconds=20.0), flush=True)


if __name__ == "__main__":
    main()
