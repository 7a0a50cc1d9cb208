"""From an empty workshop to an accepted quote and its sheet, on our own pages alone."""

from contextlib import contextmanager

import pytest
from playwright.sync_api import expect
from shapely.geometry import LinearRing

from tests.browser.worker import LAID_OUT, working
from tests.pdf_reading import drawn_paths
from workshop.models import BackgroundJob, Commission, Quote
from workshop.services.people import owner_link_make

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(180),
]

MEASURES = {
    "foot_length": "75",
    "ball_width": "31.8",
    "ball_girth": "74.2",
    "heel_width": "20.8",
    "instep_girth": "72.8",
    "instep_height": "20.7",
    "heel_instep_girth": "99.8",
    "ankle_girth": "61.3",
    "ankle_height": "41.3",
    "toe_height": "7.8",
    "calf_girth": "91.9",
    "calf_height": "75",
    "heel_raise": "0",
}
SUPPLIES = [
    ("Thread", "thread", "m", "100", "6.80"),
    ("Lace", "lace", "m", "25", "9.50"),
    ("Eyelets", "eyelet", "piece", "200", "11.00"),
    ("Clay", "clay", "g", "454", "15.90"),
    ("Lining", "lining", "dm2", "40", "31.00"),
    ("Glue", "glue", "ml", "250", "9.90"),
    ("Card", "card", "dm2", "100", "7.50"),
    ("Box", "box", "piece", "20", "13.00"),
]


def fill(page, **values):
    for name, value in values.items():
        field = page.locator(f"main [name={name}]").first
        if field.evaluate("field => field.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)


def save(page, button):
    with page.expect_navigation():
        page.get_by_role("button", name=button, exact=True).first.click()
    assert page.locator(".faults").count() == 0, page.locator(".faults").inner_text()


def set_up_workshop(page, base):
    """Make the owner's login and everything a price needs, on our own pages alone."""
    page.goto(f"{base}/first-login/{owner_link_make()}/")
    fill(page, username="maker", password="a phrase of my own", again="a phrase of my own")
    save(page, "Make the login")
    page.goto(f"{base}/settings/")
    fill(page, name="A workshop", currency="EUR")
    save(page, "Save")
    page.goto(f"{base}/styles/new/")
    fill(page, name="Ankle boot", file_name="lace-up-ankle-boot")
    save(page, "Save")
    page.goto(f"{base}/leather/new/")
    fill(page, name="Goat", colour="russet", thickness_mm="0.9", price="1.35")
    save(page, "Save")
    page.goto(f"{base}/leather/")
    page.get_by_role("link", name="Goat").first.click()
    page.get_by_role("link", name="hide").first.click()
    fill(page, width_mm="600", height_mm="400")
    save(page, "Save the hide")
    for name, kind, unit, pack, price in SUPPLIES:
        page.goto(f"{base}/supplies/new/")
        fill(page, name=name, kind=kind, unit=unit, pack_quantity=pack, pack_price=price)
        save(page, "Save")
    page.goto(f"{base}/rates/new/")
    fill(page, labour_rate_per_hour="18", overhead_per_active_hour="3.50", fee_pct="6.5")
    fill(page, fee_fixed="0.30", tax_pct="20", profit_pct="20", reason="first card")
    save(page, "Put the new card in use")


def station(page, key):
    """Return the station of a job's page by its key."""
    return page.locator(f".station[href*='station={key}']")


@contextmanager
def customer_page(browser):
    """A browser of somebody else's, without a login."""
    context = browser.new_context(viewport={"width": 390, "height": 800})
    yield context.new_page()
    context.close()


def test_a_maker_goes_from_measures_to_an_accepted_quote_and_a_true_sheet(
    page, browser, live_server
):
    base = live_server.url
    set_up_workshop(page, base)

    page.goto(f"{base}/jobs/new/")
    fill(page, customer="Linnea Example", doll="Thistle", note="Boots, please.")
    save(page, "Take the job in")
    assert "/feet/new/" in page.url
    fill(page, **MEASURES)
    save(page, "Keep this foot")
    assert page.url.startswith(f"{base}/jobs/")

    figures = {
        name: station(page, name).locator(".station-figure")
        for name in ("foot", "pieces", "leather", "price", "paper")
    }
    expect(figures["foot"]).to_have_text("75 mm", use_inner_text=True)
    expect(figures["leather"]).to_have_text("estimated", use_inner_text=True)
    first_price = figures["price"].inner_text()

    with page.expect_response(lambda answer: "boot_height_mm=60" in answer.url):
        page.locator("#id_boot_height_mm").fill("60")
    page.wait_for_function(
        "before => document.querySelector('.station[href*=price] .station-figure')"
        ".innerText !== before",
        arg=first_price,
    )
    page.wait_for_url(lambda address: "boot_height_mm=60" in address)

    station(page, "leather").click()
    page.locator("text=Lay the pieces out").wait_for()
    with working():
        page.get_by_role("button", name="Lay the pieces out").click()
        page.locator(".progress").wait_for()
        page.locator(".progress").wait_for(state="detached", timeout=60_000)
    work = BackgroundJob.objects.get()
    assert (work.state, work.fault) == ("done", "")
    station(page, "leather").filter(has_text=LAID_OUT).wait_for()
    expect(figures["leather"]).to_contain_text("% used", use_inner_text=True)

    station(page, "price").click()
    page.locator("table.breakdown").wait_for()
    summaries = page.locator("table.breakdown tbody summary")
    summaries.first.click()
    breakdown = page.locator("table.breakdown")
    expect(breakdown).to_contain_text("measured on the layout", use_inner_text=True)

    save(page, "Save as a quote")
    quote = Quote.objects.get()
    assert quote.shown_price == page.locator("aside .price").inner_text()
    link = page.locator("input.copy").input_value()

    with customer_page(browser) as customer:
        customer.goto(link)
        assert customer.locator(".price").inner_text() == quote.shown_price
        assert customer.locator("svg").count() == 1
        customer.get_by_role("button", name="Accept this quote").click()
        customer.locator("text=Accepted on").wait_for()
    quote.refresh_from_db()
    assert (quote.state, quote.answered_by) == ("accepted", "link")
    assert Commission.objects.get().state == "accepted"
    page.reload()
    expect(page.locator(".job-facts")).to_contain_text("accepted", use_inner_text=True)

    check_sheet(page, base, quote)


def check_sheet(page, base, quote):
    """The downloaded cutting sheet is true to the pieces the quote keeps."""
    answer = page.request.get(f"{base}/quotes/{quote.pk}/cutting-sheet/")
    assert answer.headers["content-type"] == "application/pdf"
    sheets = drawn_paths(answer.body())
    for sheet in sheets:
        # ISO 32000-1: a unit is 1/72 in, so a bar of 100 mm is 283.465 units long.
        assert any(is_bar(path.points_mm) for path in sheet)
    rings = [
        moved_to_corner(LinearRing(path.points_mm))
        for sheet in sheets
        for path in sheet
        if path.closed and len(path.points_mm) > 8
    ]
    for piece in quote.drawings["pieces"]["pieces"]:
        wanted = moved_to_corner(LinearRing(piece["cut"]))
        # The sheet may turn a piece by a quarter to save paper.
        turned = [moved_to_corner(quarter_turned(wanted, turns)) for turns in range(4)]
        nearest = min(
            ring.hausdorff_distance(outline)
            for ring in rings
            for outline in turned
            if abs(ring.length - outline.length) < 1.0
        )
        assert nearest < 0.1, piece["name"]


def is_bar(path):
    xs, ys = zip(*path, strict=True)
    return len(path) == 2 and abs(max(xs) - min(xs) - 100.0) < 0.1 and max(ys) - min(ys) < 0.01


def moved_to_corner(ring):
    left, bottom, *_rest = ring.bounds
    return LinearRing([(x - left, y - bottom) for x, y in ring.coords])


def quarter_turned(ring, turns):
    points = list(ring.coords)
    for _turn in range(turns):
        points = [(-y, x) for x, y in points]
    return LinearRing(points)
