"""Cutting a hide: what is left is proposed, kept or binned, and carries its share of the cost."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from patterns.hide_area import usable_hide_area_mm2
from patterns.layout.values import Layout, LayoutPiece, LayoutRequest, Placement
from tests.samples_layouts import rectangle
from tests.workshop.fixtures_stock import make_hide, make_lot
from workshop.bridge import hide_as_recorded, hide_from_record
from workshop.models import AuditEntry, Cutting, Hide, LeftPiece
from workshop.services.cuttings import (
    Decision,
    cutting_settle,
    hide_cut,
    hide_release,
    hide_reserve,
)
from workshop.services.orders import commission_move

pytestmark = pytest.mark.django_db

# Two squares of 100 at the left edge of a hide of 600 x 400, and one in its middle.
CORNERS = ((0.0, 200.0), (102.0, 200.0), (350.0, 150.0))


def laid_on(hide, corners=CORNERS):
    piece = LayoutPiece("square", rectangle(100.0, 100.0), 10)
    request = LayoutRequest((hide_from_record(hide),), (piece,), spacing_mm=2.0)
    rows = tuple(Placement("square", hide.code, x, y, 0.0, False) for x, y in corners)
    return request, Layout(rows, len(rows), 10, 0, 10_000.0 * len(rows), 0.0, 1, 1)


def cut(hide, by=None, *, commission=None, corners=CORNERS, width="25", area="2500"):
    request, layout = laid_on(hide, corners)
    return hide_cut(
        hide,
        commission=commission,
        request=request,
        layout=layout,
        least_width_mm=Decimal(width),
        least_area_mm2=Decimal(area),
        by=by,
    )


def settle(cutting, *kept, by=None, **redrawn):
    pieces = cutting.left_pieces.all()
    decisions = {
        piece.position: Decision(piece.position in kept, redrawn.get(f"piece_{piece.position}"))
        for piece in pieces
    }
    return cutting_settle(cutting, decisions, by=by)


def test_a_cut_hide_leaves_the_shelf_and_nothing_joins_it_by_itself(hide, owner):
    cutting = cut(hide, owner)
    hide.refresh_from_db()
    assert hide.state == Hide.State.CUT
    assert Hide.objects.count() == 1
    (piece,) = cutting.left_pieces.all()
    assert piece.fate == LeftPiece.Fate.PROPOSED
    # The defect of the hide, and the hole the middle square left.
    assert sorted(row["kind"] for row in piece.defects) == ["cut out", "other"]
    whole = hide.area_mm2
    assert cutting.pieces_area_mm2 == Decimal(30_000)
    assert piece.area_mm2 < whole - 30_000
    actions = set(AuditEntry.objects.values_list("record_kind", "action"))
    assert {("hide", "cut"), ("cutting", "cut"), ("leftpiece", "proposed")} <= actions


def test_what_is_kept_is_a_hide_of_its_own_with_its_share_of_the_cost(hide, owner):
    cutting = cut(hide, owner)
    (kept,) = settle(cutting, 1, by=owner)
    piece = cutting.left_pieces.get()
    assert (piece.fate, piece.hide) == (LeftPiece.Fate.KEPT, kept)
    assert (kept.remnant_of, kept.lot, kept.state) == (hide, hide.lot, Hide.State.ON_SHELF)
    assert min(x for x, _y in kept.outline) == min(y for _x, y in kept.outline) == 0
    assert kept.area_mm2 == piece.area_mm2
    cutting.refresh_from_db()
    assert kept.cost + cutting.used_cost == hide.cost
    # By area, as nothing is graded: to the cent.
    exact = hide.cost * kept.area_mm2 / hide.area_mm2
    assert abs(kept.cost - exact) < Decimal("0.02")


def test_what_is_binned_joins_nothing_and_its_cost_stays_with_the_work(hide, owner):
    cutting = cut(hide, owner)
    assert settle(cutting, by=owner) == []
    cutting.refresh_from_db()
    assert cutting.used_cost == hide.cost
    assert cutting.left_pieces.get().fate == LeftPiece.Fate.BINNED
    assert Hide.objects.count() == 1


def test_a_lesser_grade_carries_less_of_the_cost(owner):
    from patterns.hide import GradedArea
    from patterns.hide import Hide as HideValue
    from workshop.services.stock import hide_receive

    hide = Hide(lot=make_lot(price_unit="hide", price=Decimal("100")), thickness_mm=Decimal(1))
    belly = GradedArea(2, rectangle(300.0, 400.0, 300.0, 0.0), "belly", 0.5)
    hide_receive(hide, value=HideValue("H", rectangle(600.0, 400.0), (), (belly,)), cost=None,
                 by=owner)  # fmt: skip
    # A column of squares up the middle: the left rest is butt, the right one belly.
    column = [(250.0, y) for y in (0.0, 100.0, 200.0, 300.0)]
    cutting = cut(hide, owner, corners=column)
    left, right = settle(cutting, 1, 2, by=owner)
    assert left.area_mm2 == pytest.approx(right.area_mm2, rel=0.01)
    assert right.cost == pytest.approx(left.cost / 2, rel=0.01)
    assert [row["name"] for row in right.areas] == ["belly"]
    cutting.refresh_from_db()
    assert left.cost + right.cost + cutting.used_cost == Decimal(100)


def test_a_redrawn_outline_is_taken_and_its_defects_with_it(hide, owner):
    cutting = cut(hide, owner)
    ring = ((0.0, 0.0), (300.0, 0.0), (300.0, 190.0), (0.0, 190.0))
    (kept,) = settle(cutting, 1, by=owner, piece_1=ring)
    # 300 x 190, without the defect of 20 x 10 on it; the hole of the middle square lies beside.
    assert kept.area_mm2 == pytest.approx(Decimal(300 * 190 - 200), abs=1)
    assert [row["kind"] for row in kept.defects] == ["other"]
    assert usable_hide_area_mm2(hide_as_recorded(kept)) == pytest.approx(
        float(kept.area_mm2), abs=1
    )


def test_thickness_goes_along_to_what_is_kept_and_stays_where_it_was_measured(owner):
    # Recorded with the tight way along y: in the layout's frame (x, y) lies at (y, -x).
    places = [{"x_mm": "50", "y_mm": "150", "thickness_mm": "1.1"},
              {"x_mm": "350", "y_mm": "550", "thickness_mm": "1.3"}]  # fmt: skip
    hide = make_hide(make_lot(), outline=((0, 0), (400, 0), (400, 600), (0, 600)), defects=(),
                     tight_way_deg=Decimal(90), thickness_places=places)  # fmt: skip
    # What is kept is redrawn to the strip 100 <= x <= 300 of the layout's frame.
    cutting = cut(hide, owner, corners=((400.0, -300.0),))
    ring = ((100.0, -390.0), (300.0, -390.0), (300.0, -10.0), (100.0, -10.0))
    (kept,) = settle(cutting, 1, by=owner, piece_1=ring)
    # (50, 150) lies at (150, -50): 50 from the strip's left edge, 340 above its lower one.
    assert kept.thickness_places == [{"x_mm": "50.0", "y_mm": "340.0", "thickness_mm": "1.1"}]


@pytest.mark.parametrize(
    ("ring", "words"),
    [
        (((0, 0), (200, 0), (200, 300), (0, 300)), "was cut out"),
        (((-50, 150), (200, 150), (200, 390), (-50, 390)), "beside the hide"),
    ],
)
def test_an_outline_redrawn_where_no_leather_is_left_is_refused(hide, owner, ring, words):
    cutting = cut(hide, owner)
    with pytest.raises(ValidationError) as caught:
        settle(cutting, 1, by=owner, piece_1=ring)
    assert words in str(caught.value.message_dict["piece-1-corners"])
    assert Hide.objects.count() == 1
    assert not Cutting.objects.get().is_settled


def test_a_cutting_is_decided_once(hide, owner):
    cutting = cut(hide, owner)
    again = Cutting.objects.get(pk=cutting.pk)
    settle(cutting, 1, by=owner)
    with pytest.raises(ValidationError, match="decided already"):
        settle(again, 1, by=owner)
    assert Hide.objects.count() == 2


def test_a_hide_is_cut_once(hide, owner):
    cut(hide, owner)
    with pytest.raises(ValidationError, match="cut up"):
        cut(hide, owner)
    assert Cutting.objects.count() == 1


def test_a_hide_reserved_for_another_order_is_named_and_neither_reserved_nor_cut(
    hide, commission, owner
):
    from workshop.services.orders import commission_take_in

    other = commission_take_in(customer=commission.customer, doll=commission.doll, by=owner)
    hide_reserve(hide, commission=other, by=owner)
    for act in (
        lambda: hide_reserve(hide, commission=commission, by=owner),
        lambda: cut(hide, owner, commission=commission),
    ):
        with pytest.raises(ValidationError, match=f"reserved for {other.code}"):
            act()
    hide.refresh_from_db()
    assert hide.reserved_for == other
    assert not Cutting.objects.exists()


def test_a_job_that_is_withdrawn_gives_its_hides_back(hide, commission, owner):
    hide_reserve(hide, commission=commission, by=owner)
    hide_reserve(hide, commission=commission, by=owner)  # twice does no harm
    commission_move(commission, to="withdrawn", by=owner)
    hide.refresh_from_db()
    assert (hide.state, hide.reserved_for) == (Hide.State.ON_SHELF, None)
    hide_release(hide, commission=commission, by=owner)
    actions = AuditEntry.objects.filter(record_kind="hide").values_list("action", flat=True)
    assert sorted(actions)[-2:] == ["released", "reserved"]


def test_a_cutting_noted_by_mistake_is_taken_back_until_it_is_decided(owner_client, hide, owner):
    cutting = cut(hide, owner)
    undo = reverse("cutting-undo", args=[cutting.pk])
    answer = owner_client.post(undo)
    assert answer.headers["Location"] == reverse("hide", args=[hide.pk])
    hide.refresh_from_db()
    assert hide.state == Hide.State.ON_SHELF
    assert not Cutting.objects.exists()
    assert not LeftPiece.objects.exists()
    assert AuditEntry.objects.filter(record_kind="cutting", action="taken back").count() == 1
    again = cut(hide, owner)
    settle(again, 1, by=owner)
    owner_client.post(reverse("cutting-undo", args=[again.pk]))
    hide.refresh_from_db()
    assert hide.state == Hide.State.CUT
    assert Cutting.objects.count() == 1


def test_a_job_still_shows_the_hide_it_has_cut_and_no_other_job_does(
    owner_client, choice, hide, owner
):
    from workshop.selectors.orders import hides_on_shelf

    spare = make_hide(hide.lot)
    cutting = cut(hide, owner, commission=choice.commission)
    assert hides_on_shelf(choice.commission.pk) == [spare, hide]
    assert hides_on_shelf() == [spare]
    job = reverse("job", args=[choice.commission.pk])
    page = owner_client.get(job, {"hide": hide.pk, "pairs": "1", "station": "leather"})
    assert not page.context["form"].errors
    assert reverse("cutting", args=[cutting.pk]) in page.content.decode()
    assert "Lay the pieces out" not in page.content.decode()
    # Of itself the page takes leather that can still be cut.
    assert owner_client.get(job).context["worked"].choice.hide == spare


def test_the_page_of_a_cutting_asks_for_each_piece_and_adds_up(owner_client, hide, owner):
    cutting = cut(hide, owner)
    address = reverse("cutting", args=[cutting.pk])
    page = owner_client.get(address)
    assert "What is left of" in page.content.decode()
    shown = page.context["shown"]
    assert shown.pieces_mm2 + shown.left_mm2 + shown.waste_mm2 == shown.whole_mm2
    assert shown.used_cost + sum(piece.cost for piece in shown.pieces) == hide.cost
    # Nothing is ticked: the form cannot go through by itself.
    unsaid = owner_client.post(address, {"piece-1-corners": "0,0"})
    assert unsaid.status_code == 200
    assert "fate" in unsaid.context["rows"][0][1].errors
    faulty = owner_client.post(
        address, {"piece-1-fate": "kept", "piece-1-corners": "0,0\n100,100\n100,0\n0,100"}
    )
    assert "crosses" in str(faulty.context["rows"][0][1].errors["corners"])
    beside = owner_client.post(
        address, {"piece-1-fate": "kept", "piece-1-corners": "0,0\n200,0\n200,300\n0,300"}
    )
    assert "cut out" in str(beside.context["rows"][0][1].errors["corners"])
    assert Hide.objects.count() == 1
    form = page.context["rows"][0][1]
    kept = owner_client.post(address, {"piece-1-fate": "kept", "piece-1-corners": form.proposed})
    assert kept.headers["Location"] == address
    remnant = Hide.objects.get(remnant_of=hide)
    page = owner_client.get(address).content.decode()
    assert reverse("hide", args=[remnant.pk]) in page
    assert reverse("cutting-labels", args=[cutting.pk]) in page
    labels = owner_client.get(reverse("cutting-labels", args=[cutting.pk]))
    assert labels.headers["Content-Type"] == "application/pdf"


def test_a_helper_sees_no_money_on_a_cuttings_page(client, helper, hide, owner):
    cutting = cut(hide, owner)
    client.force_login(helper)
    page = client.get(reverse("cutting", args=[cutting.pk])).content.decode()
    assert "What is left of" in page
    assert "EUR" not in page
    assert f"{hide.cost:.2f}" not in page


def test_far_too_many_points_for_a_piece_are_refused_by_number(owner_client, hide, owner):
    from urllib.parse import urlencode

    cutting = cut(hide, owner)
    address = reverse("cutting", args=[cutting.pk])
    typed = urlencode({"piece-1-fate": "kept", "piece-1-corners": "\n".join(["0,0"] * 1_000_000)})
    answer = owner_client.post(
        address, typed, content_type="application/x-www-form-urlencoded", follow=True
    )
    assert "5000 points" in answer.content.decode()
    assert Hide.objects.count() == 1


def test_nothing_left_closes_with_a_yes(owner_client, owner):
    small = make_hide(make_lot(), outline=((0, 0), (104, 0), (104, 104), (0, 104)), defects=())
    cutting = cut(small, owner, corners=((1.0, 1.0),))
    assert not cutting.left_pieces.exists()
    owner_client.post(reverse("cutting", args=[cutting.pk]), {})
    cutting.refresh_from_db()
    assert cutting.used_cost == small.cost


def test_defects_recorded_before_get_a_kind_and_lose_it_again_on_the_way_back(hide):
    from importlib import import_module

    from django.apps import apps

    step = import_module("workshop.migrations.0009_defect_kinds")
    named = hide.defects
    step.drop_kinds(apps, None)
    hide.refresh_from_db()
    assert hide.defects == [row["outer"] for row in named]
    step.name_kinds(apps, None)
    hide.refresh_from_db()
    assert hide.defects == named
