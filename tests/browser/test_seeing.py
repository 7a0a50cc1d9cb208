"""Looking at the pieces: nearer and farther, kinds of lines, and the way between two points."""

import math
import re
from urllib.parse import urlencode

import pytest
from playwright.sync_api import expect

from tests.workshop.fixtures_plans import query_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

STAGE, SAID = "[data-seeing-stage]", "[data-seeing-said]"
# A place of the drawing, in its millimetres, on the screen.
ON_SCREEN = """([x, y]) => { const svg = document.querySelector("[data-seeing-stage] svg");
    const p = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; }"""

# What of it lies in the middle of the stage.
MIDDLE = """() => { const stage = document.querySelector("[data-seeing-stage]");
    const box = stage.getBoundingClientRect();
    const p = new DOMPoint(box.left + box.width / 2, box.top + box.height / 2).matrixTransform(
      stage.querySelector("svg").getScreenCTM().inverse());
    return [p.x, p.y]; }"""


def address(live_server, choice):
    query = urlencode({**query_of(choice), "station": "pieces"})
    return f"{live_server.url}/jobs/{choice.commission.pk}/?{query}"


def log_in(context, client, owner, live_server):
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": value, "url": live_server.url}])


def figures(page):
    return [float(text) for text in re.findall(r"[\d.]+", page.locator(SAID).inner_text())]


def until(page, holds):
    """Wait frame by frame for what the page does by itself, a scroll or a turn of the wheel."""
    for _frame in range(300):
        if holds():
            return
        page.evaluate("() => new Promise(requestAnimationFrame)")
    pytest.fail("it never came")


def width(page):
    return page.locator(f"{STAGE} svg").bounding_box()["width"]


def test_pieces_are_looked_at_closely(page, client, owner, live_server, choice):
    log_in(page.context, client, owner, live_server)
    page.goto(address(live_server, choice))
    page.evaluate("document.fonts.ready")
    whole = width(page)

    # Nearer and farther, by buttons and keys; the wheel only where the drawing has the focus.
    page.get_by_role("button", name="Nearer").click()
    assert width(page) == pytest.approx(1.25 * whole, rel=1e-3)
    page.locator(STAGE).hover()
    page.mouse.wheel(0, -100)
    assert width(page) == pytest.approx(1.25 * whole, rel=1e-3)
    page.locator(STAGE).focus()
    page.keyboard.press("+")
    assert width(page) == pytest.approx(1.25**2 * whole, rel=1e-3)
    page.locator(STAGE).hover()
    page.mouse.wheel(0, -100)
    until(page, lambda: width(page) > 1.6 * whole)
    page.keyboard.press("ArrowRight")
    until(page, lambda: page.locator(STAGE).evaluate("stage => stage.scrollLeft") > 0)
    page.keyboard.press("0")
    assert width(page) == pytest.approx(whole)

    # Each kind of line by its own tick; what is hidden stays so when the panel is worked out anew.
    for word, kind in {"cut": "line-cut", "finished edge": "line-net", "names": "words"}.items():
        line = page.locator(f"{STAGE} .{kind}").first
        expect(line).to_be_visible()
        page.get_by_label(word, exact=True).uncheck()
        expect(line).to_be_hidden()
    with page.expect_response(lambda answer: "/jobs/" in answer.url):
        page.get_by_label("Pairs").fill("2")
        page.get_by_label("Pairs").blur()
    expect(page.locator("[data-shows=cut]")).not_to_be_checked()
    expect(page.locator(f"{STAGE} .line-cut").first).to_be_hidden()
    page.get_by_label("cut", exact=True).check()

    # Two points, by pointer; brought nearer, the same two are as far apart.
    page.get_by_role("button", name="Measure").click()
    for closer in (False, True):
        if closer:
            page.keyboard.press("+")
        page.locator(STAGE).evaluate("stage => stage.scrollIntoView({block: 'center'})")
        x, y = page.evaluate(MIDDLE)
        for place in ((x - 15, y - 20), (x + 15, y + 20)):
            page.mouse.click(*page.evaluate(ON_SCREEN, place))
        assert figures(page) == pytest.approx([50.0, 1.97], abs=0.7)
        assert math.isclose(figures(page)[0] / 25.4, figures(page)[1], abs_tol=0.01)

    # By keys alone: exactly 3 mm across and 4 mm down.
    page.keyboard.press("Escape")
    page.keyboard.press("Enter")
    for key in ["ArrowRight"] * 3 + ["ArrowDown"] * 4:
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    assert figures(page) == [5.0, 0.2]
    assert page.locator(".seeing-line polyline").count() == 4
    page.get_by_role("button", name="Measure").click()
    assert page.locator(".seeing-line").count() == 0


def test_without_scripts_all_of_the_drawing_is_shown(browser, client, owner, live_server, choice):
    context = browser.new_context(java_script_enabled=False)
    log_in(context, client, owner, live_server)
    page = context.new_page()
    page.goto(address(live_server, choice))
    assert page.locator(f"{STAGE} .line-cut").first.is_visible()
    assert not page.locator("[data-seeing-tools]").is_visible()
    context.close()


def test_a_picked_piece_is_marked_flat_and_on_the_foot(page, client, owner, live_server, choice):
    log_in(page.context, client, owner, live_server)
    page.goto(address(live_server, choice))
    marked = page.locator(".fill-part.picked")
    # On the foot, flat, and out again: by pointer.
    page.locator(".boot-small [data-piece='toe box']").click(force=True)
    expect(marked).to_have_count(2)
    expect(page.locator(f"{STAGE} .picked")).to_have_attribute("data-piece", "toe box")
    page.locator(f"{STAGE} [data-piece='outer side']").click(force=True)
    expect(page.locator(".boot-small .picked")).to_have_attribute("data-piece", "outer side")
    # The list of pieces by the keyboard; the same again marks nothing.
    link = page.locator("[data-pick='outer side']")
    expect(link).to_have_attribute("aria-current", "true")
    link.focus()
    page.keyboard.press("Enter")
    expect(marked).to_have_count(0)
    page.keyboard.press("Enter")
    expect(marked).to_have_count(2)
    assert "piece=outer+side" in page.url
    # A kind of shoe drawn anew keeps it marked, and so do the four sides below.
    page.locator(".on-the-foot").scroll_into_view_if_needed()
    expect(page.locator(".worn-views svg")).to_have_count(4)
    expect(page.locator(".worn-views figure:has(.picked)")).to_have_count(4)
