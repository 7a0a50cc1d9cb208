"""Meshes, styles, corrections and sizes in a real browser: scripts off, a phone, another style."""

from decimal import Decimal
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.workshop.fixtures_stock import make_hide, make_lot
from workshop.models import Correction, Customer, Doll, FootVersion, Style
from workshop.services.library import foot_measure
from workshop.services.orders import commission_take_in
from workshop.services.records import record_save
from workshop.services.styles import style_make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SAMPLE = Path(__file__).parents[1] / "data" / "feet" / "sample_foot.obj"
MEASURES = {"foot_length": Decimal("75"), "ball_girth": Decimal("74.2")}


@pytest.fixture
def cookie(client, owner, live_server):
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    return {"name": "sessionid", "value": value, "url": live_server.url}


@pytest.fixture
def doll(owner):
    record = Doll(name="House 75", material="other")
    record_save(record, by=owner)
    return record


@pytest.fixture
def foot(doll, owner):
    return foot_measure(doll=doll, foot_side="left", measures=MEASURES, reason="x", by=owner)


@pytest.fixture
def job(doll, foot, owner):
    customer = Customer(name="Tamsin Example")
    record_save(customer, by=owner)
    for name, pattern in (("Boot", "lace-up-ankle-boot"), ("Sandal", "open-sandal")):
        style_make(Style(name=name, file_name=pattern), by=owner)
    make_hide(make_lot())
    return commission_take_in(customer=customer, doll=doll, by=owner)


def test_a_mesh_is_taken_with_scripts_off(browser, cookie, live_server, doll):
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([cookie])
    page = context.new_page()
    page.goto(f"{live_server.url}/dolls/{doll.pk}/feet/mesh/")
    page.locator("[name=mesh_file]").set_input_files(SAMPLE)
    page.get_by_role("button", name="Look at the mesh").click()
    expect(page.locator(".mesh-seen svg")).to_have_count(1)
    page.get_by_role("button", name="Yes, this is the foot").click()
    page.get_by_role("button", name="Keep this foot").first.click()
    expect(page.locator(".last-paper svg")).to_have_count(1)
    context.close()
    assert FootVersion.objects.get().mesh["triangles"] == 2466


def test_another_style_brings_its_own_parameters(page, cookie, live_server, job):
    page.context.add_cookies([cookie])
    page.goto(f"{live_server.url}/jobs/{job.pk}/")
    page.locator("[name=boot_height_mm]").wait_for()
    page.get_by_label("Style").select_option(label="Sandal")
    page.locator("[name=strap_width_mm]").wait_for()
    expect(page.locator("[name=boot_height_mm]")).to_have_count(0)
    expect(page.locator(".boot-small svg")).to_have_count(1)


def test_a_correction_is_noted_by_keyboard_and_stands_on_the_jobs_page(
    page, cookie, live_server, job
):
    page.context.add_cookies([cookie])
    page.goto(f"{live_server.url}/jobs/{job.pk}/")
    page.get_by_role("link", name="Note a correction").press("Enter")
    page.get_by_label("What to change").select_option("curve:topline more")
    page.get_by_label("By how much").fill("2")
    page.get_by_label("Why").fill("sits too low")
    page.get_by_label("Why").press("Enter")
    page.get_by_text("higher 2 mm").wait_for()
    assert Correction.objects.get().change_mm == 2


@pytest.mark.parametrize("width", [390, 1280])
def test_no_page_is_wider_than_the_screen(page, cookie, live_server, job, foot, width):
    page.set_viewport_size({"width": width, "height": 800})
    page.context.add_cookies([cookie])
    style = Style.objects.get(name="Boot")
    for address in (
        f"/feet/{foot.pk}/",
        f"/feet/{foot.pk}/last/",
        f"/dolls/{foot.doll_id}/feet/mesh/",
        f"/jobs/{job.pk}/",
        f"/jobs/{job.pk}/?station=foot",
        f"/jobs/{job.pk}/corrections/{style.pk}/new/",
        f"/styles/{style.pk}/",
        "/styles/",
        f"/sizes/?foot={foot.pk}",
        f"/sizes/grade/{foot.pk}/",
        "/sizes/run/",
    ):
        page.goto(live_server.url + address)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{address} is {wide} px wide"
