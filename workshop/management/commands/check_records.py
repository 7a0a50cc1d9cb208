"""Prove that balances are the sums of their ledgers, and meshes and photographs as kept."""

import sys
from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from patterns.errors import FootError
from workshop.mesh_files import mesh_content
from workshop.models import FootVersion, Hide, JobPhoto, Supply
from workshop.models.stock import THOUSANDTHS
from workshop.photo_files import photo_content
from workshop.selectors.reservations import held_faults
from workshop.selectors.stock import balance_faults, moves_count
from workshop.unnamed_files import UnnamedFile, unnamed_files, unnamed_remove


def _units(thousandths: int | None) -> str:
    return "nothing" if thousandths is None else f"{Decimal(thousandths) / THOUSANDTHS:f}"


def _files(found: list[UnnamedFile]) -> str:
    size = sum(each.size_bytes for each in found)
    return f"{len(found)} {'file' if len(found) == 1 else 'files'} ({size} bytes)"


class Command(BaseCommand):
    """Compare balances with their moves, kept files with their names; exit 1 naming faults."""

    help = (
        "Prove that every balance in stock is the sum of its ledger and that every foot's mesh and"
        " every hide's photograph is there as it was kept; exit 1 if one is not. Files that no"
        " record names are listed."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take whether to remove what no record names."""
        parser.add_argument(
            "--tidy",
            action="store_true",
            help="remove files that no record names and that are older than an hour",
        )

    def handle(self, *args: object, **options: Any) -> None:
        """Print one line for each supply at fault, or one line saying all is well."""
        faults = balance_faults()
        for fault in faults:
            self.stderr.write(
                f"{fault.supply.code} {fault.supply.name}: the balance says "
                f"{_units(fault.on_hand)} on hand and {_units(fault.reserved)} reserved, "
                f"the ledger adds up to {_units(fault.moved)} and {_units(fault.moved_reserved)}"
            )
        held = held_faults()
        for wrong in held:
            self.stderr.write(
                f"{wrong.supply.code} {wrong.supply.name}: the balance says "
                f"{_units(wrong.reserved)} reserved, the jobs hold {_units(wrong.held)}"
            )
        lost, meshes = self._lost_meshes()
        lost_photographs, photographs = self._lost_photographs()
        lost_of_jobs, of_jobs = self._lost_job_photographs()
        unnamed = unnamed_files()
        if faults or held or lost or lost_photographs or lost_of_jobs:
            self._list(unnamed)
            if options["tidy"] and unnamed:
                self.stderr.write("nothing is removed while something is wrong")
            sys.exit(1)
        self.stdout.write(
            f"{Supply.objects.count()} supplies, {moves_count()} moves: "
            "every balance is the sum of its moves"
        )
        if meshes:
            self.stdout.write(f"{meshes} feet with a mesh: every mesh is there as it was kept")
        if photographs:
            self.stdout.write(f"{photographs} hides with a photograph: every one is there")
        if of_jobs:
            self.stdout.write(f"{of_jobs} photographs of jobs: every one is there")
        if options["tidy"]:
            self._tidy(unnamed)
        else:
            self._list(unnamed)

    def _list(self, unnamed: list[UnnamedFile]) -> None:
        """Name every file that no record names."""
        for found in unnamed:
            age = "" if found.is_old else ", less than an hour old"
            self.stdout.write(f"{found.name}: no record names it ({found.size_bytes} bytes{age})")
        if unnamed:
            self.stdout.write(f"{_files(unnamed)} that no record names: --tidy removes the old")

    def _tidy(self, unnamed: list[UnnamedFile]) -> None:
        """Remove old files that no record names, and say which."""
        gone = []
        for found in unnamed:
            if unnamed_remove(found):
                gone.append(found)
                self.stdout.write(f"{found.name}: removed ({found.size_bytes} bytes)")
            else:
                self.stdout.write(f"{found.name}: no record names it, but it is too new to remove")
        self.stdout.write(f"{_files(gone)} removed")

    def _lost_meshes(self) -> tuple[int, int]:
        """Name every foot whose mesh is not as it was kept; return how many, and of how many."""
        lost = count = 0
        for foot in FootVersion.objects.exclude(mesh={}).select_related("doll").iterator():
            count += 1
            try:
                mesh_content(foot.mesh["sha256"])
            except FootError as error:
                lost += 1
                self.stderr.write(f"{foot}: {error}")
        return lost, count

    def _lost_photographs(self) -> tuple[int, int]:
        """Name every hide whose photograph is not as it was kept; return how many, of how many."""
        lost = count = 0
        hides = Hide.objects.exclude(photograph={}).select_related("lot")
        for hide in hides.defer("outline", "defects", "areas").iterator(chunk_size=200):
            count += 1
            digest = hide.photograph["sha256"]
            if photo_content(digest) is None:
                lost += 1
                self.stderr.write(
                    f"{hide}: its photograph (photographs/{digest[:12]}…) is not in the data folder"
                    " as it was kept; bring the folder back from a backup, or take another"
                )
        return lost, count

    def _lost_job_photographs(self) -> tuple[int, int]:
        """Name every job's photograph that is not as it was kept; return how many, of how many."""
        lost = count = 0
        for photo in JobPhoto.objects.select_related("commission").iterator(chunk_size=200):
            count += 1
            if photo_content(photo.sha256) is None:
                lost += 1
                self.stderr.write(
                    f"{photo.commission.code}: its photograph (photographs/{photo.sha256[:12]}…) is"
                    " not in the data folder as it was kept; bring the folder back from a backup"
                )
        return lost, count
