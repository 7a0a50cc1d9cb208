"""Planning by hand: the server judges, names what is wrong, and what is kept is the layout."""

import re
from dataclasses import replace

import pytest
from django.core.exceptions import ValidationError
from shapely.affinity import translate

from patterns.errors import LayoutError
from patterns.layout.ground import laid_shape
from tests.workshop.fixtures_plans import (
    form_data,
    ground_of,
    plan_address,
    planned,
    query_of,
    rows_of,
)
from tests.workshop.fixtures_quotes import lay_out_now
from workshop.models import AuditEntry, BackgroundJob, Commission, HandLayout, Hide
from workshop.plan_sheet import spot_of
from workshop.services.planning import hand_layout_save
from workshop.services.quoting import work_out

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


@pytest.fixture
def laid(choice, owner):
    """The choice with every piece laid in rows by hand."""
    return planned(choice, owner)


def sent(client, choice, data=None, **changes):
    """Send the form of the plan as it stands but for the changes; "" takes a value away."""
    data = {**(data or form_data(choice)), **query_of(choice)}
    for name, value in changes.items():
        data[name.replace("copy_", "copy-").replace("__", "-")] = value
    address = f"/jobs/{choice.commission.pk}/plan/"
    return client.post(address, {key: value for key, value in data.items() if value != ""})


def test_a_plan_by_hand_is_the_layout_of_price_sheet_and_cutting(laid, owner):
    assert laid.layout.placed == laid.layout.requested == 10
    assert laid.layout.complete_sets == 1
    assert laid.is_measured
    assert laid.waste["pairs"] == 1
    assert laid.breakdown is not None
    assert laid.layout_work.inputs["by_hand"] == HandLayout.objects.get().pk
    assert AuditEntry.objects.filter(record_kind="handlayout", who=owner).count() == 1


def test_a_plan_by_hand_is_of_its_own_job_alone(laid, choice):
    other = Commission.objects.get(pk=choice.commission.pk)
    other.pk, other.number, other.form_key = None, other.number + 1, None
    other.save()
    twin = work_out(replace(choice, commission=other))
    assert twin.request == laid.request
    assert twin.layout is None


def test_the_page_sends_back_exactly_what_it_was_given(laid, choice, owner_client):
    page = owner_client.get(plan_address(choice)).content.decode()
    data = form_data(choice)
    for name, value in data.items():
        assert f'name="{name}"' in page
        assert value == "on" or f'value="{value}"' in page
    answer = sent(owner_client, choice, data)
    assert answer.status_code == 302
    assert work_out(choice).layout.placements == laid.layout.placements
    assert HandLayout.objects.count() == 2


def test_a_moved_piece_is_kept_where_its_fields_say(laid, choice, owner_client):
    answer = sent(
        owner_client, choice, copy_0__x_mm="300", copy_0__y_mm="150.5", copy_0__turn_deg="180",
        copy_0__stays="on",
    )  # fmt: skip
    assert answer.status_code == 302
    again = work_out(choice)
    piece = again.request.pieces[0]
    spot = spot_of(piece, again.layout.placements[0])
    assert (spot.x_mm, spot.y_mm, spot.turn_deg) == pytest.approx((300.0, 150.5, 180.0))
    assert HandLayout.objects.first().fixed == [HandLayout.objects.first().placements[0]]


REFUSED = [
    (
        {
            "copy_0__x_mm": "300",
            "copy_0__y_mm": "150",
            "copy_1__x_mm": "310",
            "copy_1__y_mm": "150",
        },
        "toe box, left foot and toe box, right foot overlap",
    ),
    ({"copy_0__x_mm": "112", "copy_0__y_mm": "108"}, "toe box, left foot lies on a defect"),
    ({"copy_2__x_mm": "2", "copy_2__y_mm": "150"}, "outer side, left foot lies over the edge"),
    (
        {"copy_0__x_mm": "300", "copy_0__y_mm": "150", "copy_0__turn_deg": "45"},
        "toe box, left foot is turned 45° off its tight way; it may be 10°",
    ),
    ({"copy_0__x_mm": ""}, "Give both, or leave both empty"),
    ({"copy_0__x_mm": "nan"}, "Enter a number"),
    ({"copy_0__x_mm": "1e9", "copy_0__turn_deg": "far"}, "less than or equal to 10000"),
]


def test_a_plan_that_cannot_be_cut_is_refused_by_name_and_nothing_is_lost(
    laid, choice, owner_client
):
    data = form_data(choice)
    for changes, said in REFUSED:
        answer = sent(owner_client, choice, data, **changes)
        assert answer.status_code == 200
        body = answer.content.decode()
        assert said in body
        for value in changes.values():
            assert not value or f'value="{value}"' in body
    assert work_out(choice).layout.placements == laid.layout.placements
    assert HandLayout.objects.count() == 1


def test_pieces_too_near_are_refused_with_both_distances(laid, choice, owner_client):
    ground = ground_of(laid, laid.layout.placements)
    first, second = (laid_shape(copy.piece, copy.placement) for copy in ground.copies[:2])
    step = next(k / 10 for k in range(200) if first.distance(translate(second, -k / 10)) < 1.0)
    near = first.distance(translate(second, -step))
    x_mm = spot_of(ground.copies[1].piece, ground.copies[1].placement).x_mm - step
    answer = sent(owner_client, choice, copy_1__x_mm=str(round(x_mm, 4)))
    assert 0.8 < near < 1.0
    said = re.search(r"are ([\d.]+) mm apart; the gap is 1\.5 mm", answer.content.decode())
    assert -0.001 <= near - float(said[1]) < 0.01  # two decimals, never more than there is


def test_an_exact_place_that_cannot_be_read_is_passed_over(laid, choice, owner_client):
    assert sent(owner_client, choice, copy_0__lay="inf nan x").status_code == 302


def test_an_emptied_row_takes_the_piece_off_and_the_price_is_estimated_again(
    laid, choice, owner_client
):
    sent(owner_client, choice, copy_0__x_mm="", copy_0__y_mm="")
    again = work_out(choice)
    assert again.layout.placed == 9
    assert not again.is_measured


def test_a_piece_that_may_be_mirrored_is_mirrored_and_a_paired_one_is_not(
    laid, choice, owner_client
):
    free = [copy for copy in ground_of(laid).copies if copy.piece.mirror_free]
    assert {copy.piece.id for copy in free} == {"tongue"}
    changes = {f"copy_{free[0].number}__mirrored": "on", "copy_0__mirrored": "on"}
    assert sent(owner_client, choice, **changes).status_code == 302
    turned = [row.id for row in work_out(choice).layout.placements if row.mirrored]
    before = [row.id for row in laid.layout.placements if row.mirrored]
    assert sorted(turned) == sorted([*before, "tongue"])


def test_what_stays_is_given_to_the_search_and_the_layout_waits_for_it(
    laid, choice, owner_client, owner
):
    answer = sent(owner_client, choice, rest="1", copy_0__x_mm="300", copy_0__y_mm="150",
                  copy_0__stays="on")  # fmt: skip
    assert answer.status_code == 302
    fixed = HandLayout.objects.first().fixed
    assert [row["id"] for row in fixed] == ["toe box"]
    work = BackgroundJob.objects.latest("id")
    assert work.inputs["instance"]["fixed"] == fixed
    # Until the search has found one, the layout is the one before.
    assert work_out(choice).layout.placements == laid.layout.placements
    assert b"waiting" in owner_client.get(plan_address(choice)).content
    work.state = BackgroundJob.State.STOPPED
    work.save()
    lay_out_now(choice, owner)
    found = work_out(choice).layout
    assert found.placed == 10
    ground = ground_of(work_out(choice), found.placements)
    spot = spot_of(ground.copies[0].piece, found.placements[0])
    assert (spot.x_mm, spot.y_mm) == pytest.approx((300.0, 150.0))


def test_the_service_refuses_a_faulty_plan_whoever_calls_it(choice, owner):
    worked = work_out(choice)
    rows = rows_of(worked)
    with pytest.raises(LayoutError) as caught:
        hand_layout_save(worked, [*rows, rows[0]], by=owner)
    assert caught.value.code == "layout_faulty"
    assert not HandLayout.objects.exists()


def test_a_hide_that_is_cut_is_planned_no_more(laid, owner):
    laid.choice.hide.state = Hide.State.CUT
    with pytest.raises(ValidationError, match="cut already"):
        hand_layout_save(laid, laid.layout.placements, by=owner)
    assert HandLayout.objects.count() == 1


def test_without_a_hide_the_page_says_what_to_choose(choice, owner_client):
    answer = owner_client.get(f"/jobs/{choice.commission.pk}/plan/?hide=", follow=True)
    assert "Choose a foot, a style and a hide first" in answer.content.decode()


def test_a_helper_plans_and_sees_no_money_and_a_bookkeeper_only_looks(
    laid, choice, client, helper, bookkeeper
):
    client.force_login(helper)
    page = client.get(plan_address(choice))
    assert "EUR" not in page.content.decode()
    assert sent(client, choice).status_code == 302
    client.force_login(bookkeeper)
    shown = client.get(plan_address(choice)).content.decode()
    assert "Keep this plan" not in shown
    assert client.post(f"/jobs/{choice.commission.pk}/plan/").status_code == 403


def test_a_plan_from_before_the_hide_changed_is_offered_again(laid, choice, owner_client):
    choice.hide.defects = []
    choice.hide.save()
    page = owner_client.get(plan_address(choice))
    assert work_out(choice).layout is None
    assert "changed since these were laid" in page.content.decode()
    assert page.context["ground"].placed == 10
