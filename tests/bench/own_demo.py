"""The demo workshop in a database of its own, for benchmarks of pages."""

import gc
import os
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any


@contextmanager
def own_demo() -> Iterator[Any]:
    """Make the demo in a folder that goes away again, and give the owner's client."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATA_DIR"] = folder
        os.environ.pop("DATABASE_URL", None)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
        import django
        from django.conf import settings
        from django.contrib.auth import get_user_model
        from django.core.management import call_command
        from django.test import Client

        django.setup()
        settings.ALLOWED_HOSTS.append("testserver")
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        from workshop.models import Member
        from workshop.services.demo import demo_load

        demo_load()
        user = get_user_model().objects.create_user(username="bench")
        Member.objects.create(user=user, role="owner")
        client = Client()
        client.force_login(user)
        gc.collect()
        gc.freeze()  # as the web server does once it has loaded
        yield client


def measure_pages(client: Any, addresses: Sequence[str], runs: int) -> None:
    """Print a line for each page: the middle and the 95th of a hundred runs, and its queries."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    for address in addresses:
        client.get(address)  # what is worked out once and kept is not what a list is slow by
        times = []
        for _ in range(runs):
            start = time.perf_counter()
            with CaptureQueriesContext(connection) as queries:
                answer = client.get(address)
            times.append(1000 * (time.perf_counter() - start))
            if answer.status_code != 200:
                raise SystemExit(f"{address}: {answer.status_code}")
        times.sort()
        middle, late = times[runs // 2], times[min(runs - 1, round(0.95 * runs))]
        print(f"{address:36} p50 {middle:6.0f} ms  p95 {late:6.0f} ms  {len(queries):3} queries")
