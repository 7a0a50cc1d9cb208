"""Measure layouts; run as ``python -m tests.bench.bench_layout [--seeds N] [--strips] ...``.

Prints, after the independent check, pairs, density, steps, seconds and the machine's load: the
sample hides at 20 seconds (and when the pairs were reached), the published strips in fixed
containers at 60 seconds, and on demand 300 random hides and the memory of 400 pieces. With
``--processor`` the seconds are those this process computed, divided by the cores it can use: on a
machine shared with others those figures can be compared. They flatter a little, because on two
free cores one at times waits for the other. Strip packing is also run with the ``spyrrow``
library where it can be imported.
"""

import argparse
import json
import os
import resource
import statistics
import time
from collections.abc import Callable
from pathlib import Path

from patterns.exchange.layout_file import request_from_document
from patterns.layout import LayoutPiece, LayoutProgress, LayoutRequest, lay_out, warm_up
from tests.samples_layouts import NEST_FILES, SAMPLES, ring_round, sample_request, verified
from tests.samples_layouts import square_hide as hide_of

Clock = Callable[[], float]
CORES = 2
STRIPS = ("albano", "marques", "shirts", "trousers")


def processor_clock() -> float:
    """Return the seconds computed so far, as if all of it had been shared by both cores."""
    return time.process_time() / CORES


def measured(
    name: str, request: LayoutRequest, seed: int, seconds: float, clock: Clock
) -> tuple[int, float]:
    """Print one line of figures for a run; return pairs and density."""
    reached: list[tuple[float, int]] = []
    started, on_the_wall = clock(), time.monotonic()

    def on_progress(progress: LayoutProgress) -> None:
        sets = progress.layout.complete_sets
        if not reached or reached[-1][1] != sets:
            reached.append((clock() - started, sets))

    layout = lay_out(request, seed=seed, seconds=seconds, clock=clock, on_progress=on_progress)
    used = clock() - started
    verified(request, layout)
    print(
        f"{name:17s} seed {seed}: density {layout.density:.4f}, {layout.complete_sets} pairs "
        f"(after {reached[-1][0]:.1f} s), {layout.placed} of {layout.requested} pieces, "
        f"{layout.steps} steps, {used:.1f} s ({time.monotonic() - on_the_wall:.1f} s on the wall, "
        f"load {os.getloadavg()[0]:.1f})",
        flush=True,
    )
    return layout.complete_sets, layout.density


def samples(seeds: int, seconds: float, clock: Clock) -> None:
    """Run the sample hides with several seeds and print the medians."""
    for name in SAMPLES:
        request = sample_request(name)
        found = [measured(name, request, s, seconds, clock) for s in range(1, seeds + 1)]
        pairs, densities = zip(*found, strict=True)
        print(f"{name:17s} median: {statistics.median(pairs):g} pairs, density "
              f"{statistics.median(densities):.4f}")  # fmt: skip


def strips(seconds: float, clock: Clock) -> None:
    """Run the strips in containers 8 and 3 per cent longer than the best length known."""
    for length in ("must", "aim"):
        for name in STRIPS:
            path: Path = NEST_FILES / "strips" / f"{name}_{length}.json"
            measured(f"{name}_{length}", request_from_document(_read(path)), 1, seconds, clock)
            _peer(name, length, path, seconds)


def _peer(name: str, length: str, path: Path, seconds: float) -> None:
    """Print how long a strip the other library needs, beside the container's length."""
    try:
        import spyrrow
    except ImportError:
        print(f"{name}_{length}: spyrrow is not installed, skipped")
        return
    document = _read(path)
    outer = document["containers"][0]["outer"] if "containers" in document else None
    outer = outer or document["container"]["outer"]
    width, height = max(x for x, _ in outer), max(y for _, y in outer)
    items = [
        spyrrow.Item(
            row["id"], [tuple(p) for p in row["outer"]], row["quantity"], row["allowed_rotations"]
        )
        for row in document["pieces"]
    ]
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=int(seconds), num_workers=2, seed=1
    )
    answer = spyrrow.StripPackingInstance(name, strip_height=height, items=items).solve(config)
    print(f"{name}_{length}: spyrrow needs {answer.width:.1f} mm, container {width:.1f} mm")


def random_hides(runs: int) -> None:
    """Lay out random hides, each checked; never an invalid one."""
    from hypothesis import HealthCheck, given, settings

    from tests.patterns.layout.test_layout_properties import requests

    @settings(max_examples=runs, deadline=None, suppress_health_check=list(HealthCheck))
    @given(requests())
    def run(request: LayoutRequest) -> None:
        verified(request, lay_out(request, seed=1, steps=8))

    run()
    print(f"{runs} random hides: every layout valid")


def memory() -> None:
    """Lay out 400 pieces and print the largest memory used."""
    pieces = tuple(
        LayoutPiece(f"piece {n}", ring_round([9.0 + (n + k) % 5 for k in range(12)]), 40, per_set=2)
        for n in range(10)
    )
    request = LayoutRequest((hide_of(480.0),), pieces)
    layout = lay_out(request, seed=1, steps=12)
    verified(request, layout)
    used_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"400 pieces asked, {layout.placed} laid: at most {used_mb:.0f} MB")


def _read(path: Path) -> dict:
    return json.loads(path.read_text())


def main() -> None:
    """Read the command line and run what is asked for."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--strips", action="store_true")
    parser.add_argument("--strip-seconds", type=float, default=60.0)
    parser.add_argument("--random", type=int, default=0, metavar="RUNS")
    parser.add_argument("--memory", action="store_true")
    parser.add_argument("--processor", action="store_true", help="count processor time")
    options = parser.parse_args()
    clock = processor_clock if options.processor else time.monotonic
    warm_up()
    if options.memory:
        memory()
    if options.seeds:
        samples(options.seeds, options.seconds, clock)
    if options.strips:
        strips(options.strip_seconds, clock)
    if options.random:
        random_hides(options.random)


if __name__ == "__main__":
    main()
