"""Planning by hand in a real browser: by pointer, tap and keyboard, by touch, without script."""

import pytest
from playwright.sync_api import expect

from patterns.layout.ground import laid_shape
from tests.workshop.fixtures_plans import ground_of, plan_address, planned
from workshop.models import HandLayout
from workshop.services.quoting import work_out

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEPT = "The plan is kept"


def cookie(client, owner, live_server):
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    return {"name": "sessionid", "value": value, "url": live_server.url}


def opened(page, client, owner, live_server, choice):
    page.context.add_cookies([cookie(client, owner, live_server)])
    page.goto(live_server.url + plan_address(choice))
    page.locator(".plan-svg").wait_for()
    return page


def field(page, number, name):
    return page.locator(f"[name=copy-{number}-{name}]")


def middle(page, number):
    return [float(field(page, number, name).input_value()) for name in ("x_mm", "y_mm")]


def on_screen(page, x, y):
    """Return where a place of the hide in mm is on the screen."""
    page.evaluate("document.fonts.ready")  # nothing moves any more once the letters are there
    page.locator(".plan-svg").evaluate("svg => svg.scrollIntoView({block: 'center'})")
    return page.evaluate(
        """([x, y]) => { const svg = document.querySelector(".plan-svg");
        const p = new DOMPoint(x, -y).matrixTransform(svg.getScreenCTM());
        return [p.x, p.y]; }""",
        [x, y],
    )


def drag(page, start, end):
    page.mouse.move(*on_screen(page, *start))
    page.mouse.down()
    page.mouse.move(*on_screen(page, *end), steps=4)
    page.mouse.up()


def test_a_piece_is_dragged_to_the_gap_warned_of_and_refused_or_kept(
    page, client, owner, live_server, choice
):
    before = planned(choice, owner)
    opened(page, client, owner, live_server, choice)
    warned = page.locator("[data-plan-warned]")
    expect(warned).to_be_hidden()
    # Onto the piece beside it: it is said at once, and the server refuses it by name.
    drag(page, middle(page, 0), middle(page, 1))
    expect(warned).to_contain_text("toe box, left foot overlaps toe box, right foot")
    page.get_by_role("button", name="Keep this plan").click()
    fault = "toe box, left foot and toe box, right foot overlap"
    expect(page.get_by_role("alert")).to_contain_text(fault)
    assert HandLayout.objects.count() == 1
    # Onto the defect, then free of everything: the warning comes and goes. The chosen one of two
    # that lie on each other is taken.
    page.get_by_role("button", name="Choose toe box, left foot").click()
    drag(page, middle(page, 0), (110, 105))
    expect(warned).to_contain_text("on a defect")
    drag(page, middle(page, 0), (300, 120))
    expect(warned).to_be_hidden()
    # Let go near the edge below, it is drawn to the edge itself, where it may lie.
    toe_box = ground_of(before, before.layout.placements).copies[0]
    _left, low, _right, top = laid_shape(toe_box.piece, toe_box.placement).bounds
    half_mm = (top - low) / 2
    drag(page, middle(page, 0), (300, half_mm + 3))
    assert middle(page, 0)[1] == pytest.approx(half_mm, abs=0.05)
    assert field(page, 0, "stays").is_checked()
    page.get_by_role("button", name="Keep this plan").click()
    expect(page.get_by_text(KEPT)).to_be_visible()
    worked = work_out(choice)
    ground = ground_of(worked, worked.layout.placements)
    lowest = laid_shape(ground.copies[0].piece, ground.copies[0].placement).bounds[1]
    assert 0.0 <= lowest <= 0.05


def test_a_piece_is_placed_by_a_tap_and_by_keyboard_alone(page, client, owner, live_server, choice):
    planned(choice, owner)
    opened(page, client, owner, live_server, choice)
    # Without dragging: choose it, then tap where its middle shall go.
    page.mouse.click(*on_screen(page, *middle(page, 2)))
    page.mouse.click(*on_screen(page, 450, 110))
    assert middle(page, 2) == pytest.approx([450, 110], abs=1.0)
    # By keyboard: the next piece by Tab, moved by steps, turned round, taken off and undone.
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.index") == "3"
    before = middle(page, 3)
    for key in ["ArrowDown"] * 20 + ["Shift+ArrowLeft", "Alt+ArrowLeft", "r"]:
        page.keyboard.press(key)
    x, y = middle(page, 3)
    assert (x - before[0], y - before[1]) == pytest.approx((-1.1, -200.0), abs=0.02)
    assert field(page, 3, "turn_deg").input_value() == "180"
    for _press in range(12):
        page.keyboard.press("[")
    # The tight way's tolerance of 10° is as far as it goes.
    assert field(page, 3, "turn_deg").input_value() == "190"
    expect(page.locator("[data-plan-said]")).to_contain_text("may not be turned further")
    page.keyboard.press("m")
    expect(page.locator("[data-plan-said]")).to_contain_text("stay a pair")
    page.keyboard.press("Delete")
    assert field(page, 3, "x_mm").input_value() == ""
    page.keyboard.press("u")
    assert middle(page, 3) == [x, y]
    page.keyboard.press("Delete")
    page.keyboard.press("Enter")
    expect(page.locator("[data-plan-warned]")).to_be_hidden()
    page.get_by_role("button", name="Keep this plan").press("Enter")
    expect(page.get_by_text(KEPT)).to_be_visible()
    assert work_out(choice).layout.placed == 10


def test_on_a_phone_a_piece_is_moved_by_touch_and_nothing_is_wider_than_the_screen(
    browser, client, owner, live_server, choice
):
    planned(choice, owner)
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = opened(context.new_page(), client, owner, live_server, choice)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.touchscreen.tap(*on_screen(page, *middle(page, 0)))
    page.touchscreen.tap(*on_screen(page, 300, 100))
    assert middle(page, 0) == pytest.approx([300, 100], abs=2.0)
    expect(page.locator("[data-plan-warned]")).to_be_hidden()
    context.close()


def test_without_script_the_figures_are_the_way(browser, client, owner, live_server, choice):
    planned(choice, owner)
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.context.add_cookies([cookie(client, owner, live_server)])
    page.goto(live_server.url + plan_address(choice))
    assert page.locator("[data-plan-still] svg").is_visible()
    page.get_by_label("toe box, left foot: middle from the left (mm)").fill("300")
    page.get_by_label("toe box, left foot: middle from below (mm)").fill("100")
    page.get_by_role("button", name="Keep this plan").click()
    assert page.get_by_text(KEPT).count() == 1
    context.close()
    assert HandLayout.objects.count() == 2
