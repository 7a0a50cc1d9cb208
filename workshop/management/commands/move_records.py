"""Move all records into another database."""

import argparse
from typing import Any

from workshop.management.file_command import FileCommand, InputError
from workshop.record_moving import MovingError, records_move, target_open


class Command(FileCommand):
    """``manage.py move_records --to DATABASE_URL``."""

    help = (
        "Copy every record of the database in use into an empty, migrated one, from SQLite to"
        " PostgreSQL or back, and compare row counts and checksums; sessions stay behind."
    )

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take where to."""
        parser.add_argument("--to", metavar="DATABASE_URL", required=True, help="an empty database")

    def run(self, **options: Any) -> None:
        """Move, and print each table with its rows and checksum."""
        try:
            sums = records_move("default", target_open(str(options["to"])))
        except MovingError as error:
            raise InputError(str(error)) from None
        for table in sums:
            if table.rows:
                self.stdout.write(f"{table.table:32} {table.rows:>9}  {table.checksum[:16]}")
        total = sum(table.rows for table in sums)
        self.stdout.write(
            f"== {total} rows of {len(sums)} tables are the same on both sides; start the workshop"
            " with DATABASE_URL set to the new database and the same DATA_DIR"
        )
