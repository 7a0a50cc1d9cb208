"""Back the workshop up while it runs."""

import argparse
from pathlib import Path
from typing import Any

from django.conf import settings

from workshop.backups import KEEP, BackupError, backup_make
from workshop.management.file_command import FileCommand, InputError


class Command(FileCommand):
    """``manage.py backup [--into FOLDER] [--keep N]``."""

    help = (
        "Copy database, meshes, photographs and secret key into a folder of their own, with a list"
        " of checksums; it may be run while the workshop is in use."
    )

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take where to, and how many to keep."""
        parser.add_argument(
            "--into", metavar="FOLDER", help="where backups are kept (DATA_DIR/backups)"
        )
        parser.add_argument("--keep", metavar="N", default=str(KEEP), help=f"how many ({KEEP})")

    def run(self, **options: Any) -> None:
        """Make one backup, and say where it is."""
        keep = str(options["keep"])
        if not (keep.isascii() and keep.isdigit() and 0 < len(keep) < 5 and int(keep) > 0):
            raise InputError(f"--keep: {keep[:40]!r} is not a whole number above 0")
        into = Path(options["into"] or Path(settings.DATA_DIR) / "backups")
        try:
            folder = backup_make(into, keep=int(keep))
        except BackupError as error:
            raise InputError(str(error)) from None
        self.stdout.write(f"== backed up into {folder}")
