"""The solid view of a job: its page without and with scripts, and what is sent to draw."""

import gzip
import shutil

import pytest
from django.urls import reverse

from tests.conftest import CHROMIUM_ARGUMENTS
from tests.workshop.fixtures_plans import query_of

pytestmark = pytest.mark.django_db


def test_the_bodies_are_those_of_the_choice(owner_client, choice):
    page = owner_client.get(reverse("job-solid", args=[choice.commission.pk]), {"hide": ""})
    assert page.status_code == 200
    assert "stretch p95" in page.content.decode()
    answer = owner_client.get(reverse("job-solid-data", args=[choice.commission.pk]))
    names = [body["name"] for body in answer.json()["bodies"]]
    assert names[0] == "foot"
    assert {"outer side", "inner side", "outsole"} < set(names)
    thick = owner_client.get(
        reverse("job-solid-data", args=[choice.commission.pk]), {"sole_thickness_mm": "6"}
    )
    heights = [
        max(body["points"][2::3]) - min(body["points"][2::3])
        for sent in (answer, thick)
        for body in sent.json()["bodies"]
        if body["name"] == "outsole"
    ]
    assert heights[1] - heights[0] == pytest.approx(2.0, abs=0.02)


def test_drawings_are_sent_compressed(owner_client, choice):
    address = reverse("job-solid-data", args=[choice.commission.pk])
    plain = owner_client.get(address)
    sent = owner_client.get(address, headers={"accept-encoding": "gzip"})
    assert sent.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(sent.content) == plain.content
    assert len(sent.content) < len(plain.content) / 2


def test_what_cannot_be_drawn_says_why(owner_client, choice):
    asked = {"boot_height_mm": "5000"}
    answer = owner_client.get(reverse("job-solid-data", args=[choice.commission.pk]), asked)
    assert answer.status_code == 422
    assert answer.json()["fault"]
    page = owner_client.get(reverse("job-solid", args=[choice.commission.pk]), asked)
    assert 'role="alert"' in page.content.decode()


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_it_is_drawn_turned_and_taken_apart_by_buttons_and_keys(
    browser, live_server, client, owner, choice
):
    client.force_login(owner)
    seen = []
    # Painted by the processor: no machine that tests needs a graphics card.
    arguments = [word for word in CHROMIUM_ARGUMENTS if word != "--disable-gpu"]
    arguments += ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    chromium = browser.browser_type.launch(executable_path=program, args=arguments)
    context = chromium.new_context(viewport={"width": 1000, "height": 800})
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page = context.new_page()
    page.on("pageerror", lambda error: seen.append(str(error)))
    page.on("console", lambda said: seen.append(said.text) if said.type == "error" else None)
    page.goto(f"{live_server.url}{reverse('job-solid', args=[choice.commission.pk])}")
    page.locator("#solid[data-drawn]").wait_for(timeout=60_000)
    stage = page.locator("#solid-canvas")
    pictures = [stage.screenshot()]
    page.get_by_role("button", name="front").click()
    pictures.append(stage.screenshot())
    stage.focus()
    page.keyboard.press("ArrowLeft")
    pictures.append(stage.screenshot())
    page.keyboard.press("+")
    pictures.append(stage.screenshot())
    page.get_by_label("foot", exact=True).uncheck()
    pictures.append(stage.screenshot())
    assert len(set(pictures)) == len(pictures)  # each press shows another picture
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    chromium.close()
    assert not seen


def test_a_piece_is_marked_in_every_drawing_by_its_address(owner_client, choice):
    query = {**query_of(choice), "station": "pieces", "piece": "toe box"}
    job = owner_client.get(reverse("job", args=[choice.commission.pk]), query).content.decode()
    assert job.count('class="fill-part picked" data-piece="toe box"') == 2
    address = reverse("job-views", args=[choice.commission.pk])
    sides = owner_client.get(address, query).content.decode()
    assert sides.count('class="fill-part picked" data-piece="toe box"') >= 4
    assert "From the toes" in sides
    part = owner_client.get(address, query, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert part.count("<svg") == 4
    unknown = owner_client.get(address, {**query, "piece": "no <such> piece"}).content.decode()
    assert "picked" not in unknown
