"""Print how long the job page and the lists take with many orders and a long ledger.

Run by hand: python -m tests.bench.bench_orders [orders] [moves]; it fills a database of its own,
and measures it twice: with a thousand orders, and with all. Queries must not grow from one to the
other.
"""

import sys
import time
from datetime import timedelta
from decimal import Decimal

from tests.bench.own_demo import measure_pages, own_demo

FEW, ORDERS, MOVES = 1_000, 50_000, 1_000_000
RUNS = 20
CHUNK = 2_000
YEARS = timedelta(days=5 * 365)  # the ledger is spread over
DOLLS_EACH = 2
DRAWN = ("pieces", "worn", "instance", "layout")
STATES = ("enquiry", "quoted", "accepted", "in work", "finished", "sent", "declined")


def main() -> None:
    """Fill and measure, first with a few orders."""
    orders = int(sys.argv[1]) if len(sys.argv) > 1 else ORDERS
    moves = int(sys.argv[2]) if len(sys.argv) > 2 else MOVES
    with own_demo() as client:
        begun = 0
        for count, ledger in ((min(FEW, orders), min(FEW * 20, moves)), (orders, moves)):
            start = time.perf_counter()
            fill_orders(begun, count)
            fill_ledger(ledger)
            begun = count
            print(f"{count} orders, {ledger} moves; filled in {time.perf_counter() - start:.0f} s")
            measure_pages(client, addresses(), RUNS)


def addresses() -> list[str]:
    """Return the pages to measure; the job is the demo's, with a quote."""
    from workshop.models import Commission

    job = Commission.objects.filter(quotes__isnull=False).order_by("pk").first()
    assert job is not None
    newest = Commission.objects.order_by("-number").first()
    return [
        "/",
        "/jobs/",
        "/jobs/?q=Tess",
        "/jobs/?q=O-0500",
        f"/jobs/?before={newest.number // 2}",
        f"/jobs/{job.pk}/?station=price",
        f"/jobs/{job.pk}/?station=leather",
        f"/quotes/{job.quotes.first().pk}/",
        "/customers/",
        "/dolls/",
        "/supplies/",
        "/supplies/1/",
        "/leather/",
        "/for-sale/",
        "/month/",
        "/trail/",
    ]


def fill_orders(begun: int, count: int) -> None:
    """Write orders of many customers and dolls, each with the demo's quote less its drawings.

    No list and no report reads those; with them the file would take many gigabytes.
    """
    from django.utils import timezone

    from workshop.models import Commission, Customer, Doll, FootVersion, Quote

    quote = Quote.objects.order_by("pk").first()
    foot = FootVersion.objects.order_by("pk").first()
    assert quote is not None
    assert foot is not None
    frozen = {f.attname: getattr(quote, f.attname) for f in Quote._meta.concrete_fields}
    measured = {f.attname: getattr(foot, f.attname) for f in FootVersion._meta.concrete_fields}
    del frozen["id"], measured["id"]
    frozen["snapshot"] = {k: v for k, v in quote.snapshot.items() if k not in DRAWN}
    for start in range(begun, count, CHUNK):
        numbers = range(10_000 + start, 10_000 + min(start + CHUNK, count))
        customers = Customer.objects.bulk_create(
            Customer(number=n, name=f"Customer {n}") for n in numbers if n % DOLLS_EACH == 0
        )
        dolls = Doll.objects.bulk_create(
            Doll(number=n, name=f"Doll {n}", material="resin", customer=customers[k // DOLLS_EACH])
            for k, n in enumerate(numbers)
        )
        FootVersion.objects.bulk_create(
            FootVersion(**{**measured, "doll_id": doll.pk}) for doll in dolls
        )
        jobs = Commission.objects.bulk_create(
            Commission(
                number=n,
                customer=doll.customer,
                doll=doll,
                state=STATES[n % len(STATES)],
                # Spread over years, so that a month holds what a month holds.
                made_at=timezone.now() - timedelta(hours=n),
                finished_at=timezone.now() - timedelta(hours=n) if n % 7 in (4, 5) else None,
            )
            for n, doll in zip(numbers, dolls, strict=True)
        )
        Quote.objects.bulk_create(
            Quote(
                **{**frozen, "commission_id": job.pk, "state": "open", "token_hash": f"b{job.pk}"}
            )
            for job in jobs
        )


def fill_ledger(moves: int) -> None:
    """Lengthen the ledger of the demo's supplies, evenly, to so many moves."""
    from django.utils import timezone

    from workshop.models import StockBalance, StockMove, Supply

    supplies = list(Supply.objects.all())
    there = StockMove.objects.count()
    # What the demo bought today comes first in the ledger: it was bought long ago.
    StockMove.objects.exclude(reason="bench").update(made_at=timezone.now() - YEARS)
    rows = []
    for k in range(there - there % 2, moves):
        comes = k % 2 == 0
        rows.append(
            StockMove(
                supply=supplies[k // 2 % len(supplies)],
                kind="bought" if comes else "used",
                on_hand_change=1000 if comes else -1000,
                cost=Decimal("0.20") if comes else None,
                reason="bench",
                made_at=timezone.now() - YEARS * (1 - k / moves),
            )
        )
        if len(rows) >= CHUNK:
            StockMove.objects.bulk_create(rows)
            rows = []
    StockMove.objects.bulk_create(rows)
    for supply in supplies:
        total = sum(supply.moves.values_list("on_hand_change", flat=True))
        StockBalance.objects.filter(supply=supply).update(on_hand=total, free=total)


if __name__ == "__main__":
    main()
