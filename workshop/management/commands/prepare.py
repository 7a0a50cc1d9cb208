"""Bring the installation up to date before it serves; safe to run again."""

import hashlib
import os
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.core.management.base import BaseCommand

from workshop.addresses import first_login_path
from workshop.models import WorkshopProfile
from workshop.services.people import owner_link_make


class Command(BaseCommand):
    """Migrate, collect static files, load the demo on the first run, print the address."""

    help = "Migrate, collect static files, load the demo on the first run, print the address."

    # The checks load every page, which is most of a second start's time; the tests run them.
    requires_system_checks = []

    def handle(self, *args: object, **options: object) -> None:
        """Do each part only if it is needed."""
        call_command("migrate", verbosity=0, interactive=False)
        self._collect_static()
        is_first_run = not WorkshopProfile.objects.exists()
        if is_first_run and os.environ.get("DEMO", "1") != "0":
            call_command("load_demo", verbosity=0)
            self.stdout.write("== the invented demo workshop is loaded (DEMO=0 starts empty)")
        WorkshopProfile.current()  # from here on it is no first run
        self._print_address()

    def _collect_static(self) -> None:
        """Copy and compress the static files, unless they are the ones copied last time."""
        digest = hashlib.sha256()
        for finder in get_finders():
            for path, storage in finder.list([]):
                status = os.stat(storage.path(path))
                digest.update(f"{path} {status.st_size} {status.st_mtime_ns}\n".encode())
        stamp = Path(settings.STATIC_ROOT) / ".stamp"
        if stamp.is_file() and stamp.read_text() == digest.hexdigest():
            return
        call_command("collectstatic", verbosity=0, interactive=False, clear=True)
        stamp.write_text(digest.hexdigest())

    def _print_address(self) -> None:
        base = f"http://{os.environ.get('HOST', '127.0.0.1')}:{os.environ.get('PORT', '8000')}"
        self.stdout.write(f"== open {base}/")
        token = owner_link_make()
        if token is not None:
            address = f"{base}{first_login_path(token)}"
            self.stdout.write(f"== make the owner's login, once, with: {address}")
