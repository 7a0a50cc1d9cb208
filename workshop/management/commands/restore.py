"""Put a backup into a new place."""

import argparse
from pathlib import Path
from typing import Any

from workshop.backups import BackupError, backup_check, backup_restore
from workshop.management.file_command import FileCommand, InputError


class Command(FileCommand):
    """``manage.py restore BACKUP (--into NEW_DATA_DIR | --check)``."""

    help = "Check a backup against its list and put it into a new data folder."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take the backup, and where to."""
        parser.add_argument("backup", metavar="BACKUP", help="the folder of one backup")
        parser.add_argument("--into", metavar="NEW_DATA_DIR", help="a new or an empty folder")
        parser.add_argument("--check", action="store_true", help="only check it")

    def run(self, **options: Any) -> None:
        """Check, and restore unless only the check was asked for."""
        backup = Path(options["backup"])
        if bool(options["into"]) == bool(options["check"]):
            raise InputError("give either --into NEW_DATA_DIR or --check")
        try:
            if options["check"]:
                manifest = backup_check(backup)
                self.stdout.write(f"== sound: {len(manifest['files'])} files as backed up")
                return
            into = Path(options["into"])
            manifest = backup_restore(backup, into)
        except BackupError as error:
            raise InputError(str(error)) from None
        self.stdout.write(
            f"== restored what was backed up at {manifest['made_at'][:16]}; start it with"
            f" DATA_DIR={into} bash workshop/start.sh"
        )
