"""How long the library's pages and files take on a large library; prints measured figures.

Run as ``python -m tests.bench.library_pages [DOLLS]``; works on a database of its own.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Any

TRIES = 5


def measured(what: str, run: Callable[[], Any], tries: int = 1) -> Any:
    """Print the shortest time of some tries and return the last result."""
    shortest, result = float("inf"), None
    for _try in range(tries):
        begun = time.perf_counter()
        result = run()
        shortest = min(shortest, time.perf_counter() - begun)
    print(f"{what:<46} {1000 * shortest:9.1f} ms")
    return result


def invented_library(dolls: int) -> list[tuple[str, dict[str, Any]]]:
    """Return a quarter as many customers as dolls, and one foot for each doll."""
    from workshop.library_file import FIELDS

    def record(kind: str, **values: Any) -> tuple[str, dict[str, Any]]:
        blank = {name: [] if name in ("level_girths", "sole_outline", "side_profile") else ""
                 for name in FIELDS[kind]}  # fmt: skip
        return kind, {**blank, **values}

    customers = max(dolls // 4, 1)
    return [
        *(record("customer", code=f"C-{n:04d}", name=f"Name {n}") for n in range(1, customers + 1)),
        *(
            record(
                "doll", code=f"D-{n:04d}", name=f"Doll {n}", material="resin", feet_kind="flat",
                customer=f"C-{1 + n % customers:04d}",
            )
            for n in range(1, dolls + 1)
        ),
        *(
            record(
                "foot", code=f"D-{n:04d}", foot_side="left", version="1", foot_length="75",
                ball_girth="74.2", reason="first measuring",
            )
            for n in range(1, dolls + 1)
        ),
    ]  # fmt: skip


def main(dolls: int) -> None:
    """Measure files first, then the pages on what they brought."""
    import django

    django.setup()
    from django.contrib.auth import get_user_model
    from django.core.management import call_command
    from django.test import Client

    from workshop.library_file import library_csv, read_library_csv
    from workshop.models import Doll, Member
    from workshop.selectors.library_export import library_records
    from workshop.services.library_import import library_plan, library_take_in

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    user = get_user_model().objects.create_user(username="bench", password=None)
    Member.objects.create(user=user, role="owner")
    records = invented_library(dolls)
    print(f"{len(records)} records")
    data = measured("write the table", lambda: library_csv(records))
    rows = measured("read the table", lambda: read_library_csv(data))
    measured("plan", lambda: library_plan(rows))
    measured("take it in", lambda: library_take_in(rows, by=user))
    measured("plan again, all the same", lambda: library_plan(rows))
    measured("collect for export", library_records)
    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(user)
    doll = Doll.objects.order_by("number").first()
    foot = doll.feet.first()
    for address in (
        "/dolls/", f"/dolls/?before={dolls // 10}", "/dolls/?q=zzz", "/dolls/?q=Doll 19",
        "/customers/", "/customers/?q=zzz", f"/dolls/{doll.pk}/", f"/feet/{foot.pk}/",
        f"/dolls/{doll.pk}/feet/new/?from={foot.pk}",
    ):  # fmt: skip
        measured(address, lambda address=address: client.get(address), TRIES)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATA_DIR"] = folder
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
