"""Drawing a hide by hand in a real browser: by mouse, by keyboard, over a scaled photograph."""

import io

import pytest
from PIL import Image

from tests.workshop.fixtures_stock import make_lot
from workshop.models import Hide

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def drawing_page(page, client, owner, live_server):
    """A page with the form of a new hide."""
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    page.context.add_cookies([{"name": "sessionid", "value": value, "url": live_server.url}])
    page.goto(f"{live_server.url}/leather/{make_lot().pk}/hides/new/")
    page.locator(".drawer-svg").wait_for()
    return page


def click_mm(page, *points):
    """Click on the ground at places in mm."""
    page.locator(".drawer-svg").evaluate("svg => svg.scrollIntoView({block: 'center'})")
    for x, y in points:
        at = page.evaluate(
            """([x, y]) => { const svg = document.querySelector(".drawer-svg");
            const p = new DOMPoint(x, -y).matrixTransform(svg.getScreenCTM());
            return [p.x, p.y]; }""",
            [x, y],
        )
        page.mouse.click(*at)


def corners(page):
    text = page.locator("[name=corners]").input_value()
    return [tuple(float(v) for v in line.split(",")) for line in text.splitlines()]


def flat(points):
    return [value for point in points for value in point]


def test_an_outline_is_drawn_by_mouse_and_by_keyboard_and_recorded(drawing_page):
    page = drawing_page
    click_mm(page, (20, 20), (320, 20), (320, 220))
    assert flat(corners(page)) == pytest.approx([20, 20, 320, 20, 320, 220], abs=1.0)
    # The last corner by keyboard alone: the cursor starts at the origin.
    ground = page.locator("[data-drawer-ground]")
    ground.focus()
    for key in ["ArrowRight"] * 2 + ["ArrowUp"] * 22 + ["Enter"]:
        page.keyboard.press(key)
    assert corners(page)[3] == (20, 220)
    assert "20, 220" in page.locator("[data-drawer-said]").inner_text()
    page.keyboard.press("Alt+Shift+ArrowRight")
    assert corners(page)[3] == (21, 220)
    page.keyboard.press("Backspace")
    assert len(corners(page)) == 3
    page.keyboard.press("Enter")
    # A point is dragged: what was the second corner goes 30 mm further.
    handle = page.locator(".drawer-handle").nth(1)
    box = handle.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 + 40, box["y"] + box["height"] / 2, steps=4)
    page.mouse.up()
    assert corners(page)[1][0] > 330
    page.locator("[data-drawer-what]").select_option("defect-0")
    click_mm(page, (60, 60), (80, 60), (70, 90))
    assert page.locator("[name=defect-0-shape]").input_value() == "corners"
    page.locator("[name=defect-0-kind]").select_option("scar")
    page.locator("[data-drawer-what]").select_option("tight")
    click_mm(page, (100, 100), (200, 200))
    assert float(page.locator("[name=tight_way_deg]").input_value()) == pytest.approx(45, abs=1)
    page.get_by_role("button", name="Save the hide").click()
    page.locator("h1", has_text="Hide H-").wait_for()
    hide = Hide.objects.get()
    assert [row["kind"] for row in hide.defects] == ["scar"]
    assert float(hide.area_mm2) > 58_000


def test_two_marks_scale_the_photograph_and_the_outline_over_it(drawing_page, settings, tmp_path):
    page = drawing_page
    settings.DATA_DIR = tmp_path
    stream = io.BytesIO()
    Image.new("RGB", (800, 600), "tan").save(stream, "JPEG")
    page.locator("#photo_file").set_input_files(
        {"name": "hide.jpg", "mimeType": "image/jpeg", "buffer": stream.getvalue()}
    )
    page.get_by_role("button", name="Add the photograph").click()
    page.locator(".drawer-svg image").wait_for(state="attached")
    page.wait_for_load_state("networkidle")
    # Without a scale the marks come first; the ground shows 800 pixels as 600 mm for now.
    assert page.locator("[data-drawer-what]").input_value() == "marks"
    click_mm(page, (60, 45), (360, 45))
    page.locator("[name=marks_mm]").fill("100")
    # 300 of 600 mm shown are 400 of 800 pixels: 100 mm make 0.25 mm a pixel, 200 mm in all.
    page.locator("[data-drawer-what]").select_option("outline")
    assert page.locator(".drawer-svg image").get_attribute("width") == "200"
    click_mm(page, (20, 20), (180, 20), (180, 130), (20, 130))
    page.get_by_role("button", name="Save the hide").click()
    page.locator("h1", has_text="Hide H-").wait_for()
    page.wait_for_load_state("load")  # the heading is there before the photograph
    assert page.locator("img.hide-photo").evaluate("picture => picture.naturalWidth") == 800
    hide = Hide.objects.get()
    assert hide.photograph["marks_mm"] == 100
    assert float(hide.area_mm2) == pytest.approx(160 * 110, rel=0.02)
