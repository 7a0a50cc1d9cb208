"""Bad input by its name, through the commands and through the pages.

A command says one line on standard error that names the field, ends with status 2 and leaves no
file. A page answers 200 with a message and stores nothing. The tests beside each command and each
page go through many more values; here every kind of fault stands once, in one table.
"""

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command

from tests.samples_jobs import plain_job
from tests.workshop.fixtures_stock import make_hide
from tests.workshop.test_rates_pages import card_data
from workshop import work
from workshop.models import AuditEntry, BackgroundJob, FootVersion, Quote, RateCard

pytestmark = [pytest.mark.usefixtures("files_read_once"), pytest.mark.paper]

SMALL_FOOT = Path(__file__).parents[1] / "data" / "feet" / "measures_only.json"
STYLE = ("--style", "lace-up-ankle-boot")
STEPS = ("--steps", "1", "--seed", "1")
CROSSING = [[0, 0], [75, 30], [75, 0], [0, 30]]
PIECE = {"id": "sole", "outer": [[0, 0], [75, 0], [75, 30], [0, 30]], "quantity": 1}
INSTANCE = {
    "container": {"id": "scrap", "outer": [[0, 0], [90, 0], [90, 90], [0, 90]]},
    "pieces": [{**PIECE, "allowed_rotations": [0]}],
    "spacing_mm": 1.0,
    "edge_spacing_mm": 0.0,
}


def foot(length: object, **more: Any) -> dict[str, Any]:
    return {"unit": "mm", "measures": {"foot_length": length}, **more}


def text(document: object) -> str:
    return json.dumps(document)


@dataclass(frozen=True)
class Fault:
    """One kind of bad input to a command, and a word its line must hold."""

    name: str
    command: str
    content: str
    word: str
    options: tuple[str, ...] = ()


FAULTS = [
    Fault("empty", "draft", "", "bad.json", STYLE),
    Fault("empty", "draft", text(foot(None)), "measures.foot_length", STYLE),
    Fault("empty", "nest", text({**INSTANCE, "pieces": []}), "pieces", STEPS),
    Fault("empty", "price", text(plain_job(currency="")), "currency"),
    Fault("negative", "draft", text(foot(-75)), "measures.foot_length", STYLE),
    Fault("negative", "nest", text({**INSTANCE, "spacing_mm": -1}), "spacing_mm", STEPS),
    Fault("negative", "price", text(plain_job(quantity=-2)), "quantity"),
    Fault("NaN", "draft", text(foot(float("nan"))), "NaN", STYLE),
    Fault("NaN", "nest", text({**INSTANCE, "spacing_mm": float("nan")}), "NaN", STEPS),
    Fault("NaN", "price", text(plain_job(labour_rate_per_hour="NaN")), "labour_rate_per_hour"),
    Fault("text", "draft", text(foot("long")), "measures.foot_length", STYLE),
    Fault("text", "nest", text({**INSTANCE, "spacing_mm": "wide"}), "spacing_mm", STEPS),
    Fault("text", "price", text(plain_job(round_up_to="half")), "round_up_to"),
    Fault("1e9", "draft", text(foot(1e9)), "measures.foot_length", STYLE),
    Fault("1e9", "nest", text({**INSTANCE, "edge_spacing_mm": 1e9}), "edge_spacing_mm", STEPS),
    Fault("1e9", "price", text(plain_job(quantity=10**9 + 1)), "quantity"),
    Fault("crossing", "draft", text(foot(75, sole_outline=CROSSING)), "sole_outline", STYLE),
    Fault("crossing", "nest", text({**INSTANCE, "container": {"outer": CROSSING}}),
          "container.outer", STEPS),
    Fault("foot longer than the hide", "nest",
          text({**INSTANCE, "container": {"outer": [[0, 0], [60, 0], [60, 60], [0, 60]]}}),
          "pieces.0.outer", STEPS),
    Fault("unknown style", "draft", SMALL_FOOT.read_text(), "style", ("--style", "clog")),
    Fault("profit of 100 %", "price", text(plain_job(profit={"kind": "margin", "pct": "100"})),
          "profit"),
    *(
        Fault(name, command, content, "bad.json", options)
        for command, options in (("draft", STYLE), ("nest", STEPS), ("price", ()))
        for name, content in (("deep", '{"a": ' * 9000), ("cut off", '{"unit": "mm", "meas'))
    ),
    Fault("mesh outside", "draft", text(foot(75, mesh="../secret.obj", mesh_unit="mm")), "mesh",
          STYLE),
    Fault("mesh outside", "draft", text(foot(75, mesh="/etc/passwd", mesh_unit="mm")), "mesh",
          STYLE),
    Fault("mesh missing", "draft", text(foot(75, mesh="none.obj", mesh_unit="mm")), "none.obj",
          STYLE),
]  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.command}-{fault.name}")
def test_a_command_says_one_line_that_names_the_field_and_leaves_no_file(fault, tmp_path, capsys):
    folder = tmp_path / "input"
    folder.mkdir()
    (tmp_path / "secret.obj").write_text("v 0 0 0\n")
    source = folder / "bad.json"
    source.write_text(fault.content)
    with pytest.raises(SystemExit) as ended:
        call_command(fault.command, str(source), *fault.options, "--out", str(folder / "out.json"))
    said = capsys.readouterr()
    assert ended.value.code == 2
    assert said.out == ""
    (line,) = said.err.strip().splitlines()
    assert fault.word in line
    assert len(line) < 500
    assert "Traceback" not in line
    assert list(folder.iterdir()) == [source]


def stored():
    kinds = (FootVersion, Quote, RateCard, BackgroundJob, AuditEntry)
    return [kind.objects.count() for kind in kinds]


def messages(page):
    """Return the words of the faults a page lists, at its top or beside the file sent."""
    found = re.findall(
        r'<div class="faults".*?</div>|<li class="notice notice-error">.*?</li>'
        r'|<div id="tracing-seen".*?</div>',
        page.content.decode(),
        flags=re.DOTALL,
    )
    return re.sub(r"<[^>]*>", " ", " ".join(found))


MEASURED = {"foot_side": "left", "reason": "first measuring", "foot_length": "75"}


def typed(name, value):
    return {**MEASURED, name: value}


def tracing(content, name="tracing.json"):
    file = content if isinstance(content, bytes) else json.dumps(content).encode()
    return {**MEASURED, "tracing_file": (name, file)}


# What is measured: the fault's name, what the form sends, words of the message.
FAULTY_FEET = [
    ("empty", typed("foot_length", ""), "required"),
    ("negative", typed("ball_girth", "-1"), "0 mm or more"),
    ("NaN", typed("ball_girth", "NaN"), "no number"),
    ("text", typed("ball_girth", "wide"), "no number"),
    ("1e9", typed("ball_girth", "1e9"), "1000"),
    ("crossing", tracing({"sole_outline": CROSSING}), "crosses itself"),
    ("unreadable CSV", tracing(b"\xff\xfe\x00curve", "tracing.csv"), "Line 1"),
    ("deep", tracing(b'{"a": ' * 9000), "deeper"),
    ("cut off", tracing(b'{"sole_outline": [[0, 0]'), "line 1"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "data", "words"), FAULTY_FEET, ids=lambda value: str(value)[:20])
def test_a_faulty_foot_gets_a_message_and_is_not_stored(owner_client, doll, name, data, words):
    before = stored()
    sent = dict(data)
    if "tracing_file" in sent:
        sent["tracing_file"] = SimpleUploadedFile(*sent["tracing_file"])
    page = owner_client.post(f"/dolls/{doll.pk}/feet/new/", sent)
    assert page.status_code == 200, name
    assert words in messages(page)
    assert stored() == before


# What is tried out for a job: the fault's name and the query.
FAULTY_CHOICES = [
    ("negative", {"boot_height_mm": "-5"}),
    ("NaN", {"heel_height_mm": "NaN"}),
    ("text", {"eyelet_count": "many"}),
    ("1e9", {"pairs": "1e9"}),
    ("unknown style", {"style": "clog"}),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "query"), FAULTY_CHOICES)
def test_a_faulty_choice_gets_a_message_and_no_quote(owner_client, choice, name, query):
    before = stored()
    page = owner_client.get(f"/jobs/{choice.commission.pk}/", query)
    assert page.status_code == 200, name
    assert messages(page).strip()
    answer = owner_client.post(f"/jobs/{choice.commission.pk}/quote/", query, follow=True)
    assert answer.status_code == 200
    assert messages(answer).strip()
    assert stored() == before


@pytest.mark.django_db
def test_a_foot_longer_than_the_hide_is_told_by_the_layout_and_no_pair_is_measured(
    owner_client, choice, hide
):
    scrap = make_hide(hide.lot, outline=((0, 0), (60, 0), (60, 60), (0, 60)), defects=())
    owner_client.post(f"/jobs/{choice.commission.pk}/layout/", {"hide": scrap.pk})
    job = BackgroundJob.objects.get()
    work.run(job.pk)
    query = {"hide": scrap.pk, "station": "leather"}
    page = owner_client.get(f"/jobs/{choice.commission.pk}/", query)
    assert page.status_code == 200
    assert f"does not fit hide {scrap.code}" in page.content.decode()
    job.refresh_from_db()
    assert (job.state, job.result) == ("failed", None)


@pytest.mark.django_db
def test_a_profit_of_100_percent_gets_a_message_and_no_card(owner_client):
    page = owner_client.post("/rates/new/", card_data(profit_pct="100"))
    assert page.status_code == 200
    assert "100" in messages(page)
    assert not RateCard.objects.exists()
