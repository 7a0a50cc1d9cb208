"""Pieces of a job laid by hand in rows on its hide, for tests of plans and cut lists."""

from urllib.parse import urlencode

from django.urls import reverse

from patterns.drawing.drawing import box_round
from patterns.layout.ground import laid_shape
from workshop.forms.plans import copy_forms
from workshop.plan_sheet import Spot, placement_at, plan_ground
from workshop.selectors.plans import fixed_by_hand
from workshop.services.planning import hand_layout_save
from workshop.services.quoting import work_out

LEFT_MM, TOP_MM, BETWEEN_MM = 5.0, 395.0, 4.0  # of a hide of 600 x 400 mm


def ground_of(worked, placements=(), fixed=()):
    return plan_ground(
        worked.request, placements, fixed=fixed, drawn_foot=worked.choice.foot.foot_side
    )


def rows_of(worked):
    """Return a placement for every copy, in rows from the top left, none turned."""
    rows, left, top, low = [], LEFT_MM, TOP_MM, TOP_MM
    for copy in ground_of(worked).copies:
        at_origin = placement_at(copy.piece, Spot(0.0, 0.0, 0.0, copy.mirrored), "any")
        box = box_round(tuple(laid_shape(copy.piece, at_origin).exterior.coords)[:-1])
        if left + box.width_mm > 595.0:
            left, top = LEFT_MM, low - BETWEEN_MM
        spot = Spot(left - box.left_mm, top - box.top_mm, 0.0, copy.mirrored)
        rows.append(placement_at(copy.piece, spot, worked.request.hides[0].id))
        left, low = left + box.width_mm + BETWEEN_MM, min(low, top - box.height_mm)
    return rows


def planned(choice, by, fixed=()):
    """Return the choice worked out once its pieces lie in rows."""
    worked = work_out(choice)
    hand_layout_save(worked, rows_of(worked), fixed=fixed, by=by)
    return work_out(choice)


def query_of(choice):
    return {
        "style": choice.style.pk,
        "foot": choice.foot.pk,
        "hide": choice.hide.pk,
        "pairs": choice.pair_count,
    }


def plan_address(choice):
    return f"{reverse('plan', args=[choice.commission.pk])}?{urlencode(query_of(choice))}"


def form_data(choice):
    """Return what the form of a plan's page would send as it stands."""
    worked = work_out(choice, with_money=False)
    laid = worked.layout.placements if worked.layout is not None else ()
    ground = ground_of(worked, laid, fixed_by_hand(choice.commission, worked.layout_key))
    data = {}
    for form in copy_forms(None, ground):
        for field in form:
            value = field.value()
            if value not in (None, False, ""):
                data[field.html_name] = "on" if value is True else value
    return data
