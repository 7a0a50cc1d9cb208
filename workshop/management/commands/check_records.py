"""Prove that every balance in stock is the sum of its ledger."""

import sys
from decimal import Decimal

from django.core.management.base import BaseCommand

from workshop.models import Supply
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.stock import balance_faults, moves_count


def _units(thousandths: int | None) -> str:
    return "nothing" if thousandths is None else f"{Decimal(thousandths) / THOUSANDTHS:f}"


class Command(BaseCommand):
    """Compare each balance with the sum of its moves; exit 1 naming those that differ."""

    help = "Prove that every balance in stock is the sum of its ledger; exit 1 if one is not."
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
        if faults:
            sys.exit(1)
        self.stdout.write(
            f"{Supply.objects.count()} supplies, {moves_count()} moves: "
            "every balance is the sum of its moves"
        )
