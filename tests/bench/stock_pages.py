"""Print how long the lists of leather and supplies take when there is a great deal of both.

Run with a DATA_DIR of its own: python -m tests.bench.stock_pages
"""

import os
import time
from decimal import Decimal

LOTS, HIDES_PER_LOT, SUPPLIES, MOVES = 20_000, 5, 500, 1_000_000
CHUNK = 5_000
RUNS = 20


def fill():
    """Write invented stock straight to the tables; sums and balances agree."""
    from workshop.models import Hide, LeatherLot, StockBalance, StockMove, Supply

    lots = LeatherLot.objects.bulk_create(
        (
            LeatherLot(
                number=k,
                name=f"Calf {k}",
                colour=("chestnut", "black", "cream")[k % 3],
                thickness_mm=Decimal("1.2"),
                price=Decimal("1.1"),
            )
            for k in range(1, LOTS + 1)
        ),
        batch_size=CHUNK,
    )
    outline = [[0, 0], [600, 0], [600, 400], [0, 400]]
    Hide.objects.bulk_create(
        (
            Hide(
                number=lot.number * HIDES_PER_LOT - k,
                lot=lot,
                outline=outline,
                thickness_mm=Decimal("1.2"),
                cost=Decimal("26.4"),
                area_mm2=Decimal(240_000),
                state=("on shelf", "reserved", "cut")[k % 3],
            )
            for lot in lots
            for k in range(HIDES_PER_LOT)
        ),
        batch_size=CHUNK,
    )
    supplies = Supply.objects.bulk_create(
        Supply(
            number=k,
            name=f"Thread {k}",
            kind="thread",
            unit="m",
            pack_quantity=Decimal(100),
            pack_price=Decimal("9.8"),
            is_usual=k == 1,
        )
        for k in range(1, SUPPLIES + 1)
    )
    # Half of the moves are one supply's, so that its ledger is as long as a ledger gets.
    counts = [0] * SUPPLIES
    moves = []
    for k in range(MOVES):
        index = 0 if k % 2 else k // 2 % SUPPLIES
        counts[index] += 1
        moves.append(
            StockMove(supply=supplies[index], kind="bought", on_hand_change=1000, reason="bench")
        )
        if len(moves) == CHUNK:
            StockMove.objects.bulk_create(moves)
            moves = []
    StockBalance.objects.bulk_create(
        StockBalance(supply=supply, on_hand=1000 * count, free=1000 * count)
        for supply, count in zip(supplies, counts, strict=True)
    )


def timed(client, address):
    """Return the middle and the longest of some runs, in ms."""
    runs = []
    for _ in range(RUNS):
        start = time.perf_counter()
        answer = client.get(address)
        runs.append(1000 * (time.perf_counter() - start))
        if answer.status_code != 200:
            raise SystemExit(f"{address}: {answer.status_code}")
    return sorted(runs)[RUNS // 2], max(runs)


def main():
    """Fill an empty database and measure."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client

    from workshop.models import Hide

    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    if Hide.objects.exists():
        raise SystemExit("there is stock here already; give an empty DATA_DIR")
    start = time.perf_counter()
    fill()
    print(f"filled in {time.perf_counter() - start:.0f} s")
    measure(Client())


def measure(client):
    """Print one line for each address and one for the check of all balances."""
    from django.contrib.auth import get_user_model
    from django.core.management import call_command

    from workshop.models import Member

    user = get_user_model().objects.create_user(username="bench")
    Member.objects.create(user=user, role="owner")
    client.force_login(user)
    for address in (
        "/leather/",
        "/leather/?before=60",
        "/leather/?q=black",
        "/leather/?q=Calf+7&state=reserved",
        "/leather/?q=H-00123",
        "/supplies/",
        "/supplies/1/",
        "/supplies/1/?before=1000",
    ):
        middle, longest = timed(client, address)
        print(f"{address:40} median {middle:6.1f} ms, longest {longest:6.1f} ms")
    start = time.perf_counter()
    call_command("check_records")
    print(f"check_records {time.perf_counter() - start:.1f} s")


if __name__ == "__main__":
    main()
