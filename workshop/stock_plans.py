"""The plan of a job for stock as plain values: what its page shows, and what is frozen with it."""

from decimal import Decimal
from typing import Any

from costing.job_file import document_from_job
from patterns.exchange.layout_file import document_from_layout, document_from_request
from patterns.layout import LAYOUT_ENGINE
from workshop.models import WorkshopProfile
from workshop.selectors.stock_runs import LineWorked, RunWorked
from workshop.services.quote_snapshot import bill_line_document, leather_facts


def plan_of(worked: RunWorked) -> dict[str, Any] | None:
    """Return every line and every pair with its cost as plain values; None before it is known."""
    if worked.rates is None or any(row.cost is None for row in worked.lines):
        return None
    return {
        "rate_card": worked.rates.version,
        "currency": WorkshopProfile.current().currency,
        "layout_engine": LAYOUT_ENGINE,
        "lines": [_line_document(row) for row in worked.lines],
        "hides": hides_document(worked),
        "parts": parts_document(worked),
    }


def _line_document(row: LineWorked) -> dict[str, Any]:
    assert row.cost is not None
    assert row.worked.pieces is not None
    line, cost = row.line, row.cost
    return {
        "line": line.pk,
        "position": line.position,
        "letter": line.letter,
        "style": {
            "name": line.style.style.name,
            "file": line.style.style.file_name,
            "file_hash": line.style.file_hash,
            "version": line.style.version,
            "values": dict(row.worked.values),
        },
        "engine": row.worked.pieces.engine,
        "size": line.foot.doll.name,
        "foot": line.foot_id,
        "leather": line.leather,
        "hide": leather_facts(line.lot, row.worked.values),
        "pair_count": line.pair_count,
        "bill": [bill_line_document(one) for one in cost.bill],
        "job": document_from_job(cost.job),
        "price": str(cost.breakdown.price_per_pair),
        "cost": str(cost.breakdown.cost),
        "pairs": [
            {
                "number": number,
                "cost": str(pair.cost),
                "hides": dict(pair.area_mm2),
                "lines": [[group, name, str(amount)] for group, name, amount in pair.lines],
            }
            for number, pair in enumerate(cost.pairs, 1)
        ],
    }


def hides_document(worked: RunWorked) -> list[dict[str, Any]]:
    """Return what is taken of each hide, with what it costs the lines together once known."""
    costs: dict[str, Decimal] = {}
    for row in worked.lines:
        for code, amount in (row.cost.leather if row.cost is not None else {}).items():
            costs[code] = costs.get(code, Decimal(0)) + amount
    records = {hide.code: hide for part in worked.parts for hide in part.hides}
    return [
        {
            "code": use.code,
            "hide": records[use.code].pk,
            "leather": part.leather,
            "is_remnant": records[use.code].remnant_of_id is not None,
            "pieces_mm2": use.pieces_mm2,
            "taken_mm2": use.taken_mm2,
            "waste_share": use.waste_share,
            "cost": str(costs[use.code]) if use.code in costs else None,
        }
        for part in worked.parts
        for use in part.used
    ]


def parts_document(worked: RunWorked) -> list[dict[str, Any]]:
    """Return the layouts as their files hold them, a leather each."""
    return [
        {
            "leather": part.leather,
            "instance": document_from_request(part.request),
            "layout": document_from_layout(part.layout),
        }
        for part in worked.parts
        if part.request is not None and part.layout is not None
    ]
