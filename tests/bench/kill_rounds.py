"""Kill real writers under load, a hundred times, and prove each time that nothing is lost.

``python -m tests.bench.kill_rounds [rounds]``: on SQLite as the workshop runs it, with its own
settings of journal and synchronisation, or on the empty database that DATABASE_URL names.
"""

import json
import os
import random
import subprocess
import sys
import tempfile
import time
from typing import Any

WRITERS, SEED = 3, 20310304


def write() -> None:
    """Be a writer: until killed, write and say so on standard output."""
    import django

    django.setup()
    from tests.workshop.killed_writers import write_on

    write_on(1, **json.loads(sys.argv[2]))


def a_job_with_much_open() -> dict[str, int]:
    """Make the demo and return the keys the writers need."""
    from django.contrib.auth import get_user_model
    from django.core.management import call_command

    from tests.workshop.fixtures_work import accept
    from workshop.models import Quote, Supply
    from workshop.services.demo import demo_load

    call_command("migrate", verbosity=0)
    demo_load()
    user = get_user_model().objects.create_user(username="bench")
    job = accept(Quote.objects.filter(state=Quote.State.OPEN).order_by("pk").first(), user)
    supply = Supply.objects.order_by("pk").first()
    return {
        "job_id": job.pk,
        "supply_id": supply.pk,
        "doll_id": job.doll_id,
        "user_id": user.pk,
    }


def main(rounds: int) -> None:
    """Run the rounds and print what was acknowledged, lost and found at fault."""
    import django

    django.setup()
    from django.db import connections

    from tests.workshop.killed_writers import kill_at, prove

    names = a_job_with_much_open()
    connections.close_all()
    chance = random.Random(SEED)
    acknowledged: list[Any] = []
    start = time.perf_counter()
    command = [sys.executable, "-m", "tests.bench.kill_rounds", "--write", json.dumps(names)]
    for number in range(1, rounds + 1):
        begun = [subprocess.Popen(command, stdout=subprocess.PIPE) for _ in range(WRITERS)]
        acknowledged += kill_at(
            [child.stdout.fileno() for child in begun if child.stdout],
            [child.pid for child in begun],
            acknowledged_first=chance.randrange(1, 40),
            then_s=chance.random() / 5,
        )
        for child in begun:
            child.wait()
        prove(acknowledged, job_id=names["job_id"], are_all_ours=False)
        connections.close_all()
        if number % 10 == 0:
            print(
                f"{number} rounds, {len(acknowledged)} acknowledged writes, none lost", flush=True
            )
    print(f"{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    if sys.argv[1:2] == ["--write"]:
        write()
    else:
        with tempfile.TemporaryDirectory() as folder:
            os.environ["DATA_DIR"] = folder
            main(int(sys.argv[1]) if sys.argv[1:] else 100)
