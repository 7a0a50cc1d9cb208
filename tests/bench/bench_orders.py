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
OPEN = 100  # orders in hand at once
TO_MAKE = timedelta(days=10)
BACK_ONE_IN = 100  # takings of which some goes back to the shelf
AGREED = ("accepted", "in work", "finished", "sent")
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
    """Write orders of many customers and dolls, each with the demo's quote.

    The newest orders are open, in every state; all that are older were sent or declined. Only the
    open ones have drawings: with all of them the file would take many gigabytes.
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
            Commission(number=n, customer=doll.customer, doll=doll)
            for n, doll in zip(numbers, dolls, strict=True)
        )
        Quote.objects.bulk_create(
            Quote(
                **{
                    **frozen,
                    "commission_id": job.pk,
                    "state": "open",
                    "token_hash": f"b{job.pk}",
                    "drawings": quote.drawings if count + 10_000 - job.number <= OPEN else {},
                }
            )
            for job in jobs
        )
    # Spread over the years, so that a month holds what a month holds.
    jobs = list(Commission.objects.filter(number__gte=10_000).order_by("number"))
    for k, job in enumerate(jobs):
        is_old = len(jobs) - k > OPEN
        job.state = ("sent", "sent", "declined")[k % 3] if is_old else STATES[k % len(STATES)]
        job.made_at = timezone.now() - YEARS * (1 - k / len(jobs))
        is_made = job.state in ("finished", "sent")
        job.finished_at = min(job.made_at + TO_MAKE, timezone.now()) if is_made else None
    Commission.objects.bulk_update(jobs, ["state", "made_at", "finished_at"], batch_size=500)
    agreed = [job.pk for job in jobs if job.state in AGREED]
    for start in range(0, len(agreed), CHUNK):
        of_agreed = Quote.objects.filter(commission__in=agreed[start : start + CHUNK])
        of_agreed.update(state="accepted")


def fill_ledger(moves: int) -> None:
    """Lengthen the ledger of the demo's supplies, evenly, to so many moves.

    What goes out is taken for the orders that were made at that time; now and then some of it goes
    back.
    """
    from django.utils import timezone

    from workshop.models import Commission, ShelfMark, StockBalance, StockMove, Supply

    supplies = list(Supply.objects.all())
    StockMove.objects.filter(reason="bench").delete()
    ShelfMark.objects.all().delete()
    # What the demo bought today comes first in the ledger: it was bought long ago.
    StockMove.objects.update(made_at=timezone.now() - YEARS)
    made = Commission.objects.exclude(finished_at=None).filter(number__gte=10_000)
    jobs = list(made.order_by("finished_at").values_list("pk", flat=True))
    rows = []
    for k in range(moves - StockMove.objects.count()):
        job = jobs[k * len(jobs) // moves]
        has_taken = jobs[max(0, k - 2 * len(supplies)) * len(jobs) // moves] == job
        kind, change, of_job = _move(k, job, has_taken=has_taken)
        rows.append(
            StockMove(
                supply=supplies[k // 2 % len(supplies)],
                kind=kind,
                on_hand_change=change,
                cost=Decimal("0.20") + Decimal(k % 7) / 100 if kind == "bought" else None,
                commission_id=of_job,
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


def _move(k: int, job: int, *, has_taken: bool) -> tuple[str, int, int | None]:
    """Return what the move of a number is: its kind, its change and the job it is for."""
    if k % 2 == 0:
        return "bought", 1000, None
    if has_taken and k % BACK_ONE_IN == BACK_ONE_IN - 1:
        return "used", 100, job
    return "used", -1000, job


if __name__ == "__main__":
    main()
