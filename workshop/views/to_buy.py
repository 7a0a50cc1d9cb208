"""What is to be bought: a page to print or take along, and the same as a table."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from workshop.month_files import table_csv
from workshop.selectors.to_buy import ToBuy, to_buy

COLUMNS = (
    "supplier", "code", "name", "needed_for_jobs", "free", "to_keep", "unit", "packs", "pack_holds",
    "bought", "cost", "currency", "jobs",
)  # fmt: skip


def to_buy_page(request: HttpRequest) -> HttpResponse:
    """Show what is to be bought, ?jobs=1 for what jobs need alone."""
    jobs_only = request.GET.get("jobs") == "1"
    context = {
        "list": to_buy(request.role, jobs_only=jobs_only),
        "jobs_only": jobs_only,
    }
    return render(request, "supplies/to_buy.html", context)


def to_buy_file(request: HttpRequest) -> HttpResponse:
    """Send what is to be bought as a table."""
    found = to_buy(request.role, jobs_only=request.GET.get("jobs") == "1")
    content = table_csv(COLUMNS, [*_supply_rows(found), *_leather_rows(found)])
    answer = HttpResponse(content, content_type="text/csv; charset=utf-8")
    name = f"to-buy-{timezone.localdate().isoformat()}.csv"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _supply_rows(found: ToBuy) -> list[tuple[Any, ...]]:
    return [
        (
            row.supply.supplier,
            row.supply.code,
            row.supply.name,
            row.for_jobs,
            row.free,
            row.to_keep,
            row.supply.unit,
            row.purchase.packs,
            row.supply.pack_quantity,
            row.purchase.packs * row.supply.pack_quantity,
            row.cost,
            found.currency,
            " ".join(job.code for job in row.jobs),
        )
        for supplier in found.suppliers
        for row in supplier.rows
    ]


def _leather_rows(found: ToBuy) -> list[tuple[Any, ...]]:
    return [
        (
            row.lot.supplier,
            row.lot.code,
            f"{row.lot.name}, {row.lot.colour}",
            row.need_dm2,
            None,
            None,
            "dm2",
            row.purchase.hides if row.purchase and row.purchase.hides else None,
            None,
            row.purchase.bought_dm2 if row.purchase else None,
            row.cost,
            found.currency,
            " ".join(job.code for job in row.jobs),
        )
        for row in found.leather
    ]
