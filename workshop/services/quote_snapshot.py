"""Everything behind a quote as plain values, frozen with it."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from costing.bill import net_area_mm2
from costing.bill_line import BillLine
from costing.job_file import document_from_breakdown, document_from_job
from patterns.exchange.layout_file import document_from_layout, document_from_request
from patterns.exchange.pieces_file import document_from_pieces
from patterns.layout import LAYOUT_ENGINE
from workshop.bridge_sale import sale_document
from workshop.drawn import document_from_drawing
from workshop.models import LeatherLot
from workshop.selectors.promises import promise_document
from workshop.selectors.rubbing import last_rub_test, may_rub

if TYPE_CHECKING:
    from workshop.services.quoting import Worked


def snapshot_of(worked: "Worked") -> dict[str, Any]:
    """Return the figures behind a quote as plain values: inputs, engines, bill, job and price.

    No personal data is inside; customer and doll are shown from their records.
    """
    choice = worked.choice
    assert worked.pieces is not None
    assert worked.breakdown is not None
    assert worked.asked is not None
    assert worked.rates is not None
    assert worked.job is not None
    return {
        "engine": worked.pieces.engine,
        "layout_engine": LAYOUT_ENGINE,
        "foot": dict(worked.asked.foot_document),
        "style": {
            "name": choice.style.style.name,
            "file": choice.style.style.file_name,
            "file_hash": choice.style.file_hash,
            "version": choice.style.version,
            "values": worked.values,
            "options": dict(choice.options),
        },
        "hide": _leather_document(worked),
        "rate_card": worked.rates.version,
        "sale": sale_document(choice.sale),
        "promise": promise_document(worked),
        "spacing_mm": worked.request.spacing_mm if worked.request else None,
        "waste": worked.waste,
        "net_leather_mm2": net_area_mm2((worked.pieces,), "upper"),
        "bill": [bill_line_document(line) for line in worked.bill],
        "job": document_from_job(worked.job),
        "breakdown": document_from_breakdown(worked.breakdown),
    }


def drawings_of(worked: "Worked") -> dict[str, Any]:
    """Return what is drawn of a quote as plain values: pieces, shoe, and pieces on the hide."""
    assert worked.pieces is not None
    assert worked.worn is not None
    return {
        "pieces": document_from_pieces(worked.pieces),
        "worn": document_from_drawing(worked.worn.without_parts()),
        "instance": document_from_request(worked.request) if worked.request else None,
        "layout": layout_document(worked),
    }


def _leather_document(worked: "Worked") -> dict[str, Any]:
    """Return the leather a quote is for: a hide, or a lot that is not on the shelf yet."""
    choice = worked.choice
    hide = choice.hide
    lot = hide.lot if hide is not None else choice.lot
    assert lot is not None
    leather = leather_facts(lot, worked.values)
    if hide is None:
        price = {"price": str(lot.price), "price_unit": lot.price_unit}
        return {"code": lot.code, **leather, **price}
    return {
        "code": hide.code,
        **leather,
        "cost": str(hide.cost),
        "area_mm2": str(hide.area_mm2),
    }


def leather_facts(lot: LeatherLot, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what stays with a pair of its leather: name, colour, and whether that may rub off."""
    leather: dict[str, Any] = {
        "leather": lot.name,
        "colour": lot.colour,
        "colour_may_rub": lot.colour_may_rub,
    }
    test = last_rub_test(lot)
    if test is not None:
        day = timezone.localdate(test.made_at).isoformat()
        leather["rub_test"] = {"on": day, "dry": test.dry, "damp": test.damp}
    if may_rub(lot) and values.get("lining"):
        leather["light_lining"] = True
    return leather


def layout_document(worked: "Worked") -> dict[str, Any] | None:
    """Return the finished layout's file, or None."""
    return document_from_layout(worked.layout) if worked.layout is not None else None


def bill_line_document(line: BillLine) -> dict[str, Any]:
    """Return one line of the bill as plain values."""
    return {
        "key": line.key,
        "name": line.name,
        "quantity": str(line.quantity),
        "unit": line.unit,
        "unit_cost": str(line.unit_cost),
        "waste_share": str(line.waste_share),
        "how": "; ".join(line.hows),
        "estimated": line.estimated,
    }
