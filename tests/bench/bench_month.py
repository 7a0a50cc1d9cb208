"""Print how long a job counted back and the month take over a long ledger.

Run by hand: python -m tests.bench.bench_month [moves]; it fills a database of its own.
"""

import os
import sys
import tempfile
import time
from datetime import timedelta
from decimal import Decimal
from typing import Any

MOVES = 1_000_000
JOBS_IN_MONTH = 60
RUNS = 5
CHUNK = 5_000


def main() -> None:
    """Make the demo in a folder that goes away again, lengthen its ledger, and time the pages."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATA_DIR"] = folder
        os.environ.pop("DATABASE_URL", None)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
        import django
        from django.conf import settings
        from django.core.management import call_command

        django.setup()
        settings.ALLOWED_HOSTS.append("testserver")
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        from workshop.services.demo import demo_load

        demo_load()
        moves = int(sys.argv[1]) if len(sys.argv) > 1 else MOVES
        measure(fill(moves), moves)


def fill(moves: int) -> Any:
    """Write moves by turns bought and used, evenly over the supplies, and finished jobs.

    Everything a job used lies at the end of the ledger, where it is dearest to reach.
    """
    from django.contrib.auth import get_user_model
    from django.utils import timezone

    from workshop.models import (
        Commission,
        Member,
        Quote,
        StockBalance,
        StockMove,
        Supply,
        WorkLog,
    )

    supplies = list(Supply.objects.all())
    # The ledger so far ends in what the demo bought; all that is added leaves that much on hand.
    long_ago = timezone.now() - timedelta(days=400)
    StockMove.objects.update(made_at=long_ago)  # moves are in the order of their days
    rows = []
    for k in range(moves):
        supply, comes = supplies[k // 2 % len(supplies)], k % 2 == 0
        change = 1000 if comes else -1000
        rows.append(
            StockMove(
                supply=supply,
                kind="bought" if comes else "used",
                on_hand_change=change,
                cost=Decimal("0.20") + Decimal(k % 7) / 100 if comes else None,
                reason="bench",
                made_at=long_ago,
            )
        )
        if len(rows) == CHUNK:
            StockMove.objects.bulk_create(rows)
            rows = []
    StockMove.objects.bulk_create(rows)
    quote, first = Quote.objects.get(), Commission.objects.get(quotes__isnull=False)
    jobs = Commission.objects.bulk_create(
        Commission(
            number=1000 + k,
            customer=first.customer,
            doll=first.doll,
            state="finished",
            finished_at=timezone.now(),
        )
        for k in range(JOBS_IN_MONTH)
    )
    values = {f.attname: getattr(quote, f.attname) for f in Quote._meta.concrete_fields}
    del values["id"]
    Quote.objects.bulk_create(
        Quote(
            **{**values, "commission_id": job.pk, "state": "accepted", "token_hash": f"b{job.pk}"}
        )
        for job in jobs
    )
    steps = [step["name"] for step in quote.snapshot["job"]["steps"]]
    WorkLog.objects.bulk_create(
        WorkLog(commission=job, step=step, minutes=Decimal(30)) for job in jobs for step in steps
    )
    StockMove.objects.bulk_create(
        StockMove(supply=s, commission=job, kind="used", on_hand_change=-100, reason="bench")
        for job in jobs
        for s in supplies[:8]
    )
    for supply in supplies:
        total = sum(supply.moves.values_list("on_hand_change", flat=True))
        StockBalance.objects.filter(supply=supply).update(on_hand=total, free=total)
    user = get_user_model().objects.create_user("bench", password="bench")
    Member.objects.create(user=user, role="owner")
    return user


def measure(user: Any, moves: int) -> None:
    """Print one line for each page: middle and longest of some runs, and its queries."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from workshop.models import Commission

    client = Client()
    client.force_login(user)
    job = Commission.objects.order_by("-number").first()
    assert job is not None
    print(f"{moves} moves, {JOBS_IN_MONTH} jobs in the month")
    for address in (
        f"/jobs/{job.pk}/work/",
        f"/jobs/{job.pk}/counted/",
        "/month/",
        "/rates/learned/",
    ):
        times = []
        for _ in range(RUNS):
            start = time.perf_counter()
            with CaptureQueriesContext(connection) as queries:
                answer = client.get(address)
            times.append(1000 * (time.perf_counter() - start))
            assert answer.status_code == 200, address
        times.sort()
        middle, most = times[RUNS // 2], times[-1]
        print(f"{address:24} {middle:7.0f} ms, most {most:7.0f} ms, {len(queries)} queries")


if __name__ == "__main__":
    main()
