"""Every page of the table of doors in a browser: open to everybody, quiet, and nothing from afar.

The rules are those of the Web Content Accessibility Guidelines (WCAG) 2.2, W3C Recommendation,
levels A and AA, as far as a program can tell: axe-core, kept in `tests/axe` with its licence.
"""

from functools import partial
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from playwright.sync_api import Route

from tests.workshop.fixtures_pages import (
    WHILE_EMPTY,
    Opened,
    page_names,
)
from tests.workshop.fixtures_plans import query_of
from workshop.drafting import forget_drafted, stand_in_draw

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ROOT = Path(__file__).parents[2]
AXE = (ROOT / "tests" / "axe" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
RULES = {"runOnly": {"type": "tag", "values": TAGS}}
# The schemes differ in nothing but their colours (`site.css`), so that the second looks at those;
# it looks on a phone, where fingers tap and the menu's words stand in the page.
ON_A_PHONE = ["color-contrast", "link-in-text-block", "target-size"]
COLOURS = {"runOnly": {"type": "rule", "values": ON_A_PHONE}}
# 1280 px at 200 % zoom shows 640 px of a page (WCAG 2.2, 1.4.4 Resize Text).
WIDTHS = (1920, 1280, 768, 640, 390)
HEIGHT = 900
SCROLLS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
# On a phone a table stands row by row; one that is moved sideways hides its figures.
HIDDEN_ON_A_PHONE = """[...document.querySelectorAll(".table-wide")]
  .filter((around) => around.scrollWidth > around.clientWidth + 1)
  .map((around) => `phone: wider by ${around.scrollWidth - around.clientWidth} px is `
    + around.innerText.slice(0, 60).replaceAll(/\\s+/g, " "))"""
OPEN_ALL = "for (const part of document.querySelectorAll('details')) part.open = true"
RUN = """async (options) => {
  const all = {...options, resultTypes: ["violations"], preload: false, iframes: false};
  const found = await axe.run(document, all);
  return found.violations.flatMap(
    (rule) => rule.nodes.map((node) => `${rule.id}: ${node.target} ${node.failureSummary}`));
}"""


class Screen:
    """A page's screen, made wider and narrower by the browser's own protocol: it does not wait."""

    def __init__(self, page):
        self.page = page
        self.protocol = page.context.new_cdp_session(page)

    def set_width(self, width):
        """Return by how much the page is wider than a screen of this width."""
        size = {"width": width, "height": HEIGHT, "deviceScaleFactor": 1, "mobile": False}
        self.protocol.send("Emulation.setDeviceMetricsOverride", size)
        return self.page.evaluate(SCROLLS)


def faults_on(screen):
    """Return what breaks the rules in both schemes, and where the page scrolls sideways."""
    page = screen.page
    page.evaluate(OPEN_ALL)
    faults = page.evaluate(RUN, RULES)
    for width in WIDTHS:
        if (wide := screen.set_width(width)) > 0:
            faults.append(f"{wide} px wider than a screen of {width}")
    faults += page.evaluate(HIDDEN_ON_A_PHONE)
    page.emulate_media(color_scheme="dark")
    faults += [f"dark, phone: {fault}" for fault in page.evaluate(RUN, COLOURS)]
    page.emulate_media(color_scheme="light")
    screen.set_width(1280)
    return faults


def afar(page, host):
    """Keep a list of the requests a page sends to another host."""
    sent = []
    page.on("request", lambda request: sent.append(request.url)
            if urlsplit(request.url).hostname not in (host, None) else None)  # fmt: skip
    return sent


def looked_over(page, base, pages):
    """Open each page and return what is wrong with it, by its name and address."""
    page.add_init_script(AXE)
    screen = Screen(page)
    sent = afar(page, urlsplit(base).hostname)
    found = {}
    for opened in pages:
        wanted = base + opened.address
        answer = page.goto(wanted)
        faults = faults_on(screen)
        if answer.status != 200 or page.url != wanted:
            faults.append(f"answered {answer.status} at {page.url}")
        if faults:
            found[f"{opened.name} {opened.address}"] = faults
    assert not sent
    return found


def words_of(found):
    return "\n".join(f"{page}\n  " + "\n  ".join(faults) for page, faults in found.items())


@pytest.mark.timeout(480)
def test_every_page_keeps_the_rules_of_wcag_in_both_schemes(maker, every_page):
    assert {page.name for page in every_page} | {WHILE_EMPTY} == page_names()
    found = looked_over(maker.page, maker.base, [each for each in every_page if not each.is_open])
    maker.page.context.clear_cookies()
    found |= looked_over(maker.page, maker.base, [each for each in every_page if each.is_open])
    assert not found, words_of(found)


def test_the_first_page_of_an_empty_workshop_keeps_them_too(maker):
    found = looked_over(maker.page, maker.base, [Opened(WHILE_EMPTY, reverse(WHILE_EMPTY))])
    assert not found, words_of(found)


def test_a_job_whose_pieces_are_not_drawn_yet_keeps_them_too(maker, choice, settings, tmp_path):
    settings.ESTIMATE_FIRST, settings.DATA_DIR = True, tmp_path
    forget_drafted()
    stand_in_draw(choice.style.style.file_name)
    at = f"{reverse('job', args=[choice.commission.pk])}?{urlencode(query_of(choice))}&draw=later"
    found = looked_over(maker.page, maker.base, [Opened("job, waiting", at)])
    assert not found, words_of(found)
    assert "≈" in maker.read(".waiting")


def test_pages_that_tell_what_went_wrong_keep_them_too(page, live_server):
    for template in sorted((ROOT / "templates" / "errors").glob("*.html")):
        # With its own status the browser would call the page itself an error in its console.
        answer = {
            "body": render_to_string(f"errors/{template.name}", {"minutes": 3}),
            "content_type": "text/html",
        }
        at = f"/told/{template.stem}/"
        page.route(f"**{at}", partial(Route.fulfill, **answer))
        found = looked_over(page, live_server.url, [Opened(template.stem, at)])
        assert not found, words_of(found)
