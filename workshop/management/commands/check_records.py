"""Prove that every balance in stock is the sum of its ledger, and every mesh as it was kept."""

import sys
from decimal import Decimal

from django.core.management.base import BaseCommand

from patterns.errors import FootError
from workshop.mesh_files import mesh_content
from workshop.models import FootVersion, Supply
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.stock import balance_faults, moves_count


def _units(thousandths: int | None) -> str:
    return "nothing" if thousandths is None else f"{Decimal(thousandths) / THOUSANDTHS:f}"


class Command(BaseCommand):
    """Compare balances with their moves and meshes with their names; exit 1 naming faults."""

    help = (
        "Prove that every balance in stock is the sum of its ledger and that every foot's mesh is"
        " there as it was kept; exit 1 if one is not."
    )
    requires_system_checks = []

    def handle(self, *args: object, **options: object) -> None:
        """Print one line for each supply at fault, or one line saying all is well."""
        faults = balance_faults()
        for fault in faults:
            self.stderr.write(
                f"{fault.supply.code} {fault.supply.name}: the balance says "
                f"{_units(fault.on_hand)} on hand and {_units(fault.reserved)} reserved, "
                f"the ledger adds up to {_units(fault.moved)} and {_units(fault.moved_reserved)}"
            )
        lost, meshes = self._lost_meshes()
        if faults or lost:
            sys.exit(1)
        self.stdout.write(
            f"{Supply.objects.count()} supplies, {moves_count()} moves: "
            "every balance is the sum of its moves"
        )
        if meshes:
            self.stdout.write(f"{meshes} feet with a mesh: every mesh is there as it was kept")

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
