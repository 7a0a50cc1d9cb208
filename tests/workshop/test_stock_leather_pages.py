"""Pages of leather: lots, hides, outlines as typed, and what is refused."""

import re
from decimal import Decimal
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.workshop.fixtures_stock import make_hide, make_lot
from workshop.bridge import hide_as_recorded, hide_from_record
from workshop.models import AuditEntry, Hide, LeatherLot, WorkshopProfile
from workshop.services.stock import hide_cost

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

LOT = {
    "name": "Kid",
    "colour": "plum",
    "thickness_mm": "0.8",
    "price": "1.25",
    "price_unit": "dm2",
    "bought_on": "2026-01-12",
}


def rows(prefix, *filled):
    """Return the posted fields of a formset with these rows."""
    data = {f"{prefix}-TOTAL_FORMS": len(filled), f"{prefix}-INITIAL_FORMS": 0}
    for index, row in enumerate(filled):
        data.update({f"{prefix}-{index}-{name}": value for name, value in row.items()})
    return data


def hide_data(*, defects=(), areas=(), places=(), **changes):
    base = {"thickness_mm": "1.2", "tight_way_deg": "0", "state": "on shelf"}
    return {
        **base,
        **rows("defect", *defects),
        **rows("area", *areas),
        **rows("place", *places),
        **changes,
    }


def box(shape, x, y, width, height, **more):
    return {"shape": shape, "x_mm": x, "y_mm": y, "width_mm": width, "height_mm": height, **more}


def errors_beside_fields(page):
    return re.findall(r'<ul class="errorlist[^"]*"[^>]*>(.*?)</ul>', page.content.decode(), re.S)


def test_a_lot_is_recorded_and_stands_on_the_trail(owner_client):
    answer = owner_client.post(reverse("lot-new"), LOT)
    lot = LeatherLot.objects.get()
    assert answer.headers["Location"] == reverse("lot", args=[lot.pk])
    assert AuditEntry.objects.filter(record_kind="leatherlot", action="made").count() == 1
    page = owner_client.get(reverse("lot", args=[lot.pk])).content.decode()
    assert "Kid, plum" in page
    assert "1.25 EUR per dm²" in page


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("colour", ""),
        ("thickness_mm", "0"),
        ("thickness_mm", "-1"),
        ("thickness_mm", "NaN"),
        ("thickness_mm", "thick"),
        ("thickness_mm", "1e9"),
        ("price", "-0.01"),
        ("price", "Infinity"),
        ("price", "1e9"),
        ("price", ""),
        ("price_unit", "kg"),
        ("bought_on", "soon"),
    ],
)
def test_a_faulty_lot_is_shown_again_with_a_message_beside_the_field(owner_client, field, value):
    page = owner_client.post(reverse("lot-new"), {**LOT, field: value})
    assert page.status_code == 200
    assert page.context["form"].errors.keys() == {field}
    assert f'href="#id_{field}"' in page.content.decode()
    assert not LeatherLot.objects.exists()


def test_a_hide_by_two_lengths_gets_area_and_cost_of_its_lot(owner_client, leather_lot):
    data = hide_data(
        width_mm="600", height_mm="400", defects=[box("rectangle", "10", "10", "20", "10")]
    )
    owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    hide = Hide.objects.get()
    assert hide.area_mm2 == Decimal("239800.0")
    # 24 dm² whole at 1.10 a dm²: the seller measures the defect too.
    assert hide.cost == Decimal("26.4")
    assert hide.outline == [[0, 0], [600, 0], [600, 400], [0, 400]]


def test_a_hide_may_be_typed_in_inches_with_their_sign_behind_them(owner_client, leather_lot):
    data = hide_data(
        width_mm="23 1/2 in",
        height_mm="400,5",
        defects=[box("rectangle", '1"', "1 in", "20", "10")],
    )
    owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    hide = Hide.objects.get()
    # Source: international yard and pound agreement, 1959: an inch is 25.4 mm exactly.
    assert hide.outline == [[0, 0], [596.9, 0], [596.9, 400.5], [0, 400.5]]
    assert hide.defects[0]["outer"][0] == [25.4, 25.4]


def test_a_hide_by_points_with_every_kind_of_row(owner_client, leather_lot):
    data = hide_data(
        corners="0, 0\n500 0\n500,300.5\n0, 300.5\n0, 0",
        defects=[
            box("round", "10", "10", "8", "8"),
            {"shape": "corners", "corners": "100, 100; 120, 100; 110, 130"},
            {"shape": ""},
        ],
        areas=[box("rectangle", "0", "200", "500", "100", grade="2")],
        cost="17.5",
    )
    answer = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    hide = Hide.objects.get()
    assert answer.headers["Location"] == reverse("hide", args=[hide.pk])
    assert hide.outline == [[0, 0], [500, 0], [500, 300.5], [0, 300.5]]
    assert [len(row["outer"]) for row in hide.defects] == [32, 3]
    assert hide.areas[0]["grade"] == 2
    assert hide.cost == Decimal("17.5")
    assert hide_as_recorded(hide).defects_mm[1] == ((100, 100), (120, 100), (110, 130))


@pytest.mark.parametrize(
    ("unit", "price", "cost"),
    [
        ("dm2", "1.10", "26.4000"),
        # 24 dm² / 9.290304 dm² = 2.583338500... square feet, at 9.50 each
        ("sq ft", "9.50", "24.5417"),
        ("hide", "28", "28.0000"),
    ],
)
def test_the_cost_of_a_hide_by_its_lots_price(unit, price, cost):
    lot = LeatherLot(price=Decimal(price), price_unit=unit)
    assert hide_cost(lot, Decimal("240000.0")) == Decimal(cost)


def test_a_square_foot_is_exactly_9_290304_dm2():
    # Source: the international foot is 0.3048 m, so a square foot is 0.09290304 m².
    lot = LeatherLot(price=Decimal("7.77"), price_unit="sq ft")
    assert hide_cost(lot, Decimal("92903.04")) == Decimal("7.77")


SHEET = {"width_mm": "600", "height_mm": "400"}
MILLION = "\n".join(["0,0"] * 1_000_000)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({}, "width_mm"),
        ({"width_mm": "600"}, "height_mm"),
        ({**SHEET, "corners": "0,0\n1,0\n0,1"}, "corners"),
        ({"width_mm": "-5", "height_mm": "400"}, "width_mm"),
        ({"width_mm": "NaN", "height_mm": "400"}, "width_mm"),
        ({"width_mm": "wide", "height_mm": "400"}, "width_mm"),
        ({"width_mm": "1e9", "height_mm": "400"}, "width_mm"),
        ({"width_mm": "3000.1", "height_mm": "400"}, "width_mm"),
        ({"corners": "0,0\n4000,0\n4000,10\n0,10"}, "corners"),
        ({"corners": "0,0\n100,100\n100,0\n0,100"}, "corners"),
        ({"corners": "0,0\n100,0"}, "corners"),
        ({"corners": "0,0\n100,0\nNaN,5"}, "corners"),
        ({"corners": "0,0\n100,0\n1e9,5"}, "corners"),
        ({"corners": "0,0\n100,0\nhere"}, "corners"),
        ({"corners": "0,0\n50,0\n100,0"}, "corners"),
        ({"corners": "\n".join(f"{k},{k % 2}" for k in range(6000))}, "corners"),
        ({"corners": "\n".join(["0,0"] * 20_000)}, "corners"),
        ({"corners": MILLION}, "corners"),
        ({**SHEET, "tight_way_deg": "181"}, "tight_way_deg"),
        ({**SHEET, "tight_way_deg": "NaN"}, "tight_way_deg"),
        ({"width_mm": "3000", "height_mm": "3000", "tight_way_deg": "45"}, "tight_way_deg"),
        ({**SHEET, "thickness_mm": "60"}, "thickness_mm"),
        ({**SHEET, "cost": "-1"}, "cost"),
        ({**SHEET, "cost": "1e9"}, "cost"),
        ({**SHEET, "state": "lost"}, "state"),
        ({**SHEET, "remnant_of": "999"}, "remnant_of"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_faulty_hide_is_shown_again_and_nothing_is_stored(
    owner_client, leather_lot, changes, field
):
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), hide_data(**changes))
    assert page.status_code == 200
    assert field in page.context["entry"].form.errors
    assert errors_beside_fields(page)
    assert not Hide.objects.exists()


@pytest.mark.parametrize(
    ("defect", "field"),
    [
        (box("rectangle", "700", "0", "10", "10"), "shape"),
        (box("rectangle", "-1", "-1", "610", "410"), None),
        (box("round", "10", "10", "0", "10"), "width_mm"),
        (box("round", "10", "10", "-4", "10"), "width_mm"),
        (box("round", "10", "", "10", "10"), "y_mm"),
        (box("round", "NaN", "10", "10", "10"), "x_mm"),
        (box("round", "1e9", "10", "10", "10"), "x_mm"),
        (box("", "10", "10", "10", "10"), "shape"),
        ({"shape": "star"}, "shape"),
        ({"shape": "corners", "corners": "0,0; 10,10; 10,0; 0,10"}, "corners"),
        ({"shape": "corners", "corners": ""}, "corners"),
        ({"shape": "corners", "corners": "x" * 100_001}, "corners"),
    ],
)
def test_a_faulty_defect_has_its_message_in_its_row(owner_client, leather_lot, defect, field):
    good = box("round", "50", "50", "10", "10")
    data = hide_data(**SHEET, defects=[good, defect])
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    assert page.status_code == 200
    entry = page.context["entry"]
    if field is None:  # the defects together leave nothing: that is the outline's matter
        assert "leave nothing" in str(entry.form.errors["width_mm"])
    else:
        assert field in entry.defects[1].errors
        assert not entry.defects[0].errors
    assert errors_beside_fields(page)
    assert not Hide.objects.exists()


@pytest.mark.parametrize(
    ("area", "field"),
    [
        (box("rectangle", "0", "0", "50", "50"), "grade"),
        (box("rectangle", "0", "0", "50", "50", grade="0"), "grade"),
        (box("rectangle", "0", "0", "50", "50", grade="fine"), "grade"),
        (box("rectangle", "900", "0", "50", "50", grade="2"), "shape"),
    ],
)
def test_a_faulty_graded_area_has_its_message_in_its_row(owner_client, leather_lot, area, field):
    data = hide_data(**SHEET, areas=[area])
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    assert field in page.context["entry"].areas[0].errors
    assert not Hide.objects.exists()


def test_more_rows_than_can_be_used_are_refused(owner_client, leather_lot):
    data = hide_data(**SHEET, defects=[box("round", "5", "5", "5", "5")] * 201)
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    assert page.status_code == 200
    assert page.context["entry"].defects.non_form_errors()
    assert not Hide.objects.exists()


def test_a_form_without_its_row_counts_is_refused_politely(owner_client, leather_lot):
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), SHEET)
    assert page.status_code == 200
    assert not Hide.objects.exists()


def test_far_too_much_text_is_not_let_past_the_check_of_the_forms_token(leather_lot, owner):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(owner)
    address = reverse("hide-new", args=[leather_lot.pk])
    assert strict.post(address, hide_data(**SHEET)).status_code == 403
    assert strict.post(address, hide_data(corners=MILLION)).status_code == 403
    # As the page's own button sends it, without files: its length alone is looked at.
    typed = urlencode(hide_data(corners=MILLION))
    answer = strict.post(address, typed, content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 200
    assert "5000 points" in answer.content.decode()
    assert not Hide.objects.exists()


def test_changing_a_hide_shows_what_was_typed_and_keeps_it(owner_client, leather_lot):
    hide = make_hide(leather_lot)
    address = reverse("hide-change", args=[hide.pk])
    entry = owner_client.get(address).context["entry"]
    assert (entry.form["width_mm"].value(), entry.form["height_mm"].value()) == ("600", "400")
    assert entry.defects[0]["shape"].value() == "rectangle"
    typed = {
        **hide_data(**SHEET, defects=[box("rectangle", "100", "100", "20", "10")]),
        "note": "x",
    }
    owner_client.post(address, typed)
    again = Hide.objects.get()
    assert (again.outline, again.area_mm2, again.note) == (
        [[0, 0], [600, 0], [600, 400], [0, 400]],
        hide.area_mm2,
        "x",
    )


def test_a_cost_by_the_lots_price_follows_the_outline_and_a_typed_one_stays(
    owner_client, leather_lot
):
    by_lot, typed = make_hide(leather_lot), make_hide(leather_lot, cost=Decimal("30"))
    for hide, shown, cost in ((by_lot, "", "13.2"), (typed, "30", "30")):
        address = reverse("hide-change", args=[hide.pk])
        assert owner_client.get(address).context["entry"].form["cost"].value() == shown
        owner_client.post(address, hide_data(width_mm="300", height_mm="400", cost=shown))
        hide.refresh_from_db()
        assert hide.cost == Decimal(cost)


def test_drawing_a_hide_stores_nothing_and_needs_no_script(owner_client, leather_lot):
    data = {**hide_data(**SHEET), "preview": "1"}
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    assert "<svg" in page.content.decode()
    assert "26.40 EUR" in page.content.decode()
    assert not Hide.objects.exists()


def test_the_preview_gives_the_drawing_or_the_faults(owner_client, leather_lot):
    address = reverse("hide-preview", args=[leather_lot.pk])
    drawn = owner_client.post(address, hide_data(**SHEET)).content.decode()
    assert "<svg" in drawn
    assert "<html" not in drawn
    hide = make_hide(leather_lot)
    changed = owner_client.post(f"{address}?hide={hide.pk}", hide_data(**SHEET)).content.decode()
    assert f">{hide.code}<" in changed
    for other in ("999", "9" * 30, "x"):
        status = owner_client.post(f"{address}?hide={other}", hide_data(**SHEET)).status_code
        assert status == (404 if other == "999" else 200)
    faulty = owner_client.post(address, hide_data(corners="0,0\n100,100\n100,0\n0,100"))
    assert "<svg" not in faulty.content.decode()
    assert "crosses" in faulty.content.decode()
    too_much = owner_client.post(address, hide_data(corners=MILLION))
    assert too_much.status_code == 200
    assert "5000 points" in too_much.content.decode()


def test_a_hide_goes_to_the_layout_with_its_tight_way_along_x(leather_lot):
    hide = make_hide(leather_lot, tight_way_deg=Decimal(90))
    xs = [x for x, _y in hide_from_record(hide).outline_mm]
    assert max(xs) - min(xs) == pytest.approx(400)


def test_names_are_shown_as_text(owner_client):
    lot = make_lot(name="<b>bold</b>", colour="red & blue")
    hide = make_hide(lot, note="<script>alert(1)</script>")
    for address in (reverse("leather"), reverse("lot", args=[lot.pk])):
        assert "<b>bold" not in owner_client.get(address).content.decode()
    assert "<script>alert" not in owner_client.get(reverse("hide", args=[hide.pk])).content.decode()


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"q": "goat"}, ["Goat"]),
        ({"q": "BLACK"}, ["Goat"]),
        ({"q": "L-0001"}, ["Calf"]),
        ({"q": "h-2"}, ["Goat"]),
        ({"state": "reserved"}, ["Goat"]),
        ({"q": "calf", "state": "reserved"}, []),
        ({"state": "no such"}, ["Goat", "Calf"]),
        ({"q": "%"}, []),
        ({"before": "2"}, ["Calf"]),
        ({"before": "many"}, ["Goat", "Calf"]),
    ],
    ids=str,
)
def test_leather_is_found_by_name_colour_code_and_state(owner_client, asked, found):
    make_hide(make_lot())
    make_hide(make_lot(name="Goat", colour="black"), state="reserved")
    page = owner_client.get(reverse("leather"), asked).context["page"]
    assert [lot.name for lot in page.rows] == found


def test_a_lot_with_many_hides_stands_once_with_some_of_them(owner_client):
    lot = make_lot()
    for _ in range(14):
        make_hide(lot)
    page = owner_client.get(reverse("leather"), {"state": "on shelf"}).context["page"]
    assert len(page.rows) == 1
    assert (page.rows[0].hide_count, len(page.rows[0].hides)) == (14, 12)


def test_lists_of_leather_take_as_many_queries_for_many_as_for_one(owner_client):
    def counted(address):
        with CaptureQueriesContext(connection) as queries:
            owner_client.get(address)
        return len(queries)

    WorkshopProfile.current()  # made on first use
    lot = make_lot()
    make_hide(lot)
    addresses = [reverse("leather"), reverse("lot", args=[lot.pk])]
    few = [counted(address) for address in addresses]
    for _ in range(6):
        make_hide(make_lot())
        make_hide(lot)
    assert [counted(address) for address in addresses] == few


def test_older_lots_are_reached_page_by_page(owner_client):
    for index in range(52):
        make_lot(name=f"Lot {index}")
    page = owner_client.get(reverse("leather")).context["page"]
    assert len(page.rows) == 50
    older = owner_client.get(reverse("leather"), {"before": page.next_before}).context["page"]
    assert [lot.name for lot in older.rows] == ["Lot 1", "Lot 0"]
    assert older.next_before is None
