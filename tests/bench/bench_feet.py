"""Print how long the pages of feet take with a thousand feet on file, and with many.

Run by hand: python -m tests.bench.bench_feet [feet]; it fills a database of its own, and measures
lists, search, a doll, its nearest feet, and keeping one foot more. Queries must not grow.
"""

import random
import sys
import time
from decimal import Decimal
from typing import Any

from tests.bench.own_demo import measure_pages, own_demo

FEW, FEET = 1_000, 100_000
RUNS = 20
CHUNK = 2_000
SEED = 20310304


def main() -> None:
    """Fill and measure, first with a few feet."""
    feet = int(sys.argv[1]) if len(sys.argv) > 1 else FEET
    with own_demo() as client:
        begun = 0
        for count in (min(FEW, feet), feet):
            start = time.perf_counter()
            fill_feet(begun, count)
            begun = count
            print(f"{count} feet, each of a doll of its own; {time.perf_counter() - start:.0f} s")
            measure_pages(client, addresses(), RUNS)
            measure_keeping(client)


def addresses() -> list[str]:
    """Return the pages to measure."""
    from workshop.models import Doll

    newest = Doll.objects.order_by("-number").first()
    middle = Doll.objects.filter(number__gte=50_000).order_by("number").first()
    assert newest is not None
    assert middle is not None
    return [
        "/dolls/",
        f"/dolls/?before={newest.number // 2}",
        "/dolls/?sort=name",
        "/dolls/?sort=length_mm",
        "/dolls/?q=Doll+5",
        "/search/?q=Doll+500",
        f"/dolls/{middle.pk}/",
        f"/dolls/{middle.pk}/nearest/?foot_length=71&ball_girth=70",
        "/customers/",
    ]


def fill_feet(begun: int, count: int) -> None:
    """Write dolls with a foot each, the demo's first one scaled at random."""
    from workshop.models import Customer, Doll, FootVersion

    chance = random.Random(SEED + begun)
    foot = FootVersion.objects.order_by("pk").first()
    assert foot is not None
    fields = {f.attname: getattr(foot, f.attname) for f in FootVersion._meta.concrete_fields}
    del fields["id"]
    for start in range(begun, count, CHUNK):
        numbers = range(50_000 + start, 50_000 + min(start + CHUNK, count))
        customers = Customer.objects.bulk_create(
            Customer(number=n, name=f"Customer {n}") for n in numbers
        )
        dolls = Doll.objects.bulk_create(
            Doll(number=n, name=f"Doll {n}", material="resin", customer=customer)
            for n, customer in zip(numbers, customers, strict=True)
        )
        FootVersion.objects.bulk_create(
            FootVersion(**_scaled(fields, Decimal(chance.randrange(80, 120)) / 100, doll.pk))
            for doll in dolls
        )


def _scaled(fields: dict[str, Any], factor: Decimal, doll_id: int) -> dict[str, Any]:
    scaled = {
        name: value * factor if isinstance(value, Decimal) else value
        for name, value in fields.items()
    }
    return {**scaled, "doll_id": doll_id, "sole_outline": [], "side_profile": [], "mesh": {}}


def measure_keeping(client: Any) -> None:
    """Print how long it takes to keep one foot more."""
    from workshop.models import Doll, FootVersion

    dolls = Doll.objects.filter(number__gte=50_000).order_by("number")[:RUNS]
    times = []
    for doll in dolls:
        before = FootVersion.objects.count()
        sent = {"foot_side": "right", "foot_length": "71", "reason": "measured by a benchmark"}
        start = time.perf_counter()
        answer = client.post(f"/dolls/{doll.pk}/feet/new/", sent)
        times.append(1000 * (time.perf_counter() - start))
        if answer.status_code != 302 or FootVersion.objects.count() != before + 1:
            raise SystemExit(f"the foot was not kept: {answer.status_code}")
    times.sort()
    late = times[min(len(times) - 1, round(0.95 * len(times)))]
    print(f"{'one foot more':36} p50 {times[len(times) // 2]:6.0f} ms  p95 {late:6.0f} ms")


if __name__ == "__main__":
    main()
