"""Print how long each paper of an order takes: python -m tests.bench.bench_papers [--sheets N].

It fills a database of its own with the demo workshop, asks each paper of the first quoted job a few
times over, then draws the cutting sheets of many quotes in one go, as the worker does, and prints
the most memory the process ever held.
"""

import argparse
import resource
import statistics
import time
from collections.abc import Callable
from itertools import cycle, islice
from typing import Any

from patterns.drawing.layout import draw_hide
from patterns.drawing.pieces import draw_piece_set
from patterns.hide import Hide
from patterns.layout.values import Layout, LayoutRequest, Placement
from tests.bench.own_demo import own_demo
from tests.drawn_samples import boot, laid_out, long_shaft

RUNS = 5
COPIES = 400


def crowded() -> tuple[LayoutRequest, Layout]:
    """Return as many pieces as a layout takes, in rows on one large hide."""
    request, _layout = laid_out()
    ids = [piece.id for piece in request.pieces]
    places = tuple(
        Placement(ids[k % 3], "H-0099", 100.0 * (k % 25) + 20, 100.0 * (k // 25) + 20, 0.0, False)
        for k in range(COPIES)
    )
    large = Hide("H-0099", ((0, 0), (2600, 0), (2600, 1700), (0, 1700)))
    return LayoutRequest((large,), request.pieces), Layout(
        places, COPIES, COPIES, 1, 1.0, 2.0, 0, 0
    )


def timed(name: str, work: Callable[[], object]) -> None:
    """Print the first time a piece of work takes, and the middle and the worst of a few more."""
    seconds = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    first, *later = seconds
    print(
        f"{name:<36} first {first:.2f} s, then median {statistics.median(later):.2f} s, "
        f"worst {max(later):.2f} s",
        flush=True,
    )


def time_order(client: Any) -> None:
    """Time every paper of the demo's first job that has pieces and a layout, by its address."""
    from workshop.models import BackgroundJob, Quote
    from workshop.order_papers import PAPERS
    from workshop.paper_urls import JOB_PAPERS
    from workshop.work import run

    quote = Quote.objects.select_related("commission").order_by("id").first()
    job = quote.commission.pk
    query = f"hide={quote.hide_id}&pairs={quote.pair_count}"
    client.post(f"/jobs/{job}/layout/?{query}")
    for work in BackgroundJob.objects.filter(kind="layout", state="waiting"):
        run(work.pk)
    addresses = [f"/jobs/{job}/{at}?{query}" for at, _paper, _name in JOB_PAPERS]
    addresses += [f"/jobs/{job}/{name}?{query}" for name in PAPERS if not name.endswith(".pdf")]
    doll = quote.commission.doll_id
    addresses += [f"/quotes/{quote.pk}/quote.pdf", f"/dolls/{doll}/measuring-card/"]
    for address in addresses:
        answer = client.get(address)
        if answer.status_code != 200:
            print(f"{address.split('?')[0]:<36} not to be had: {answer.status_code}")
            continue
        timed(address.split("?")[0], lambda address=address: client.get(address))


def most_mb() -> float:
    """Return the most memory this process ever held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def time_sheets(count: int) -> None:
    """Draw so many quotes' cutting sheets as one file."""
    from workshop.models import Quote
    from workshop.paper_work import run_sheets

    quotes = list(Quote.objects.order_by("id").values_list("pk", flat=True))
    wanted = list(islice(cycle(quotes), count))
    before = most_mb()
    start = time.perf_counter()
    # One after another and not kept, as a hundred different quotes would be.
    made = 0
    for key in wanted:
        made += run_sheets(
            {"quotes": [key], "paper": "A4", "language": "en"}, {}, lambda *_said: None
        )["count"]
    drawn = time.perf_counter() - start
    start = time.perf_counter()
    run_sheets({"quotes": quotes, "paper": "A4", "language": "en"}, {}, lambda *_said: None)
    print(f"{made} cutting sheets drawn in {drawn:.1f} s; {len(quotes)} joined in "
          f"{time.perf_counter() - start:.1f} s; most memory {most_mb():.0f} MB, "
          f"before them {before:.0f} MB")  # fmt: skip


def main() -> None:
    """Time drawings alone, every paper of an order, and many sheets."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sheets", type=int, default=100)
    asked = parser.parse_args()
    pieces = boot(long_shaft())
    request, layout = crowded()
    timed("drawing of a piece set", lambda: draw_piece_set(pieces))
    timed(
        f"drawing of {COPIES} pieces on a hide",
        lambda: draw_hide(request.hides[0], request, layout, scale=0.2),
    )
    with own_demo() as client:
        time_sheets(asked.sheets)
        time_order(client)


if __name__ == "__main__":
    main()
