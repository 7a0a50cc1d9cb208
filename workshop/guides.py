"""What a making guide is written from: a choice worked out, its bill without money, its times."""

from decimal import Decimal

from django.utils.translation import gettext as _

from costing.bill import bill_of_materials, work_drivers
from costing.bill_line import BillLine
from costing.errors import CostError
from costing.terms import LeatherTerms, WasteShare
from workshop import bridge
from workshop.bridge_sale import step_rules, way_of
from workshop.documents.guide_stages import Stage, StageMinutes, minutes_by_stage
from workshop.documents.guide_units import Units
from workshop.documents.guide_values import GuidePlan
from workshop.documents.heading import SheetHeading
from workshop.documents.making_guide import MakingGuide
from workshop.models import RateCard
from workshop.selectors.day_plan import places_said
from workshop.services.quoting import Worked, usual_supplies


def guide_of(worked: Worked, *, heading: SheetHeading, units: Units) -> MakingGuide:
    """Return the guide of a choice whose pieces are drawn; without a rate card it has no times."""
    assert worked.pieces is not None
    assert worked.foot is not None
    way = way_of(worked.values, worked.choice.sale)
    rates = RateCard.objects.prefetch_related("steps").order_by("-version").first()
    plan = GuidePlan(
        pieces=worked.pieces,
        units=units,
        way=way,
        bill=() if rates is None else _bill(worked, rates, is_glued=way == "glue"),
        minutes={} if rates is None else _minutes(worked, rates, way),
    )
    return MakingGuide(plan, heading, worked.foot.foot_length_mm, worked.worn)


def _bill(worked: Worked, rates: RateCard, *, is_glued: bool) -> tuple[BillLine, ...]:
    """Return what a pair takes; its leather goes by no hide's name, and nothing has a price."""
    assert worked.pieces is not None
    none_wasted = WasteShare(Decimal(0), measured=False)
    upper = LeatherTerms(
        _("upper leather"), Decimal(0), float(worked.values["leather_thickness_mm"])
    )
    try:
        terms = bridge.bill_terms(
            upper=upper,
            waste=none_wasted,
            supplies=usual_supplies(),
            rates=rates,
            values=worked.values,
            is_glued=is_glued,
        )
        return bill_of_materials((worked.pieces,), terms)
    except CostError:
        # A supply is missing: the guide says all else.
        return ()


def _minutes(worked: Worked, rates: RateCard, way: str) -> dict[Stage, StageMinutes]:
    assert worked.pieces is not None
    return minutes_by_stage(
        step_rules(rates),
        work_drivers((worked.pieces,)),
        way=way,
        place_of=places_said().of,
    )
