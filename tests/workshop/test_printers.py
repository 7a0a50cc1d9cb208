"""Printers: the calibration page, what it measured, and which sheets are corrected for it."""

import pytest

from tests.pdf_reading import page_texts
from workshop.models import AuditEntry, Printer, WorkshopProfile

pytestmark = pytest.mark.django_db
AT = "/settings/printers/"
SAID = "for by the window: 99.50 % across, 100.40 % along"


def typed(**changes):
    return {"name": "by the window", "across_mm": "169,15", "along_mm": "210.84", **changes}


def sheet_text(client, address):
    answer = client.get(address)
    assert answer.headers["Content-Type"] == "application/pdf", answer
    return " ".join(page_texts(answer.content))


@pytest.fixture
def measured(owner_client):
    assert owner_client.post(AT, typed()).status_code == 302
    return Printer.objects.get()


def test_the_page_is_made_for_the_paper_asked(owner_client):
    assert "Calibration page, Letter" in sheet_text(owner_client, f"{AT}page.pdf?paper=Letter")
    profile = WorkshopProfile.current()
    profile.paper = "A4"
    profile.save()
    assert "Calibration page, A4" in sheet_text(owner_client, f"{AT}page.pdf")


def test_measured_bars_correct_what_is_cut_by_and_say_so(owner_client, measured, choice):
    job = f"/jobs/{choice.commission.pk}"
    query = f"hide={choice.hide.pk}&pairs=1"
    assert SAID in sheet_text(owner_client, f"{job}/cutting-sheet/?{query}")
    assert SAID in sheet_text(owner_client, f"{job}/mock-up/?{query}")
    # What others print themselves is drawn as it is.
    assert "by the window" not in sheet_text(owner_client, f"{job}/try-on/?{query}")
    as_drawn = sheet_text(owner_client, f"{job}/cutting-sheet/?{query}&printer=none")
    assert "by the window" not in as_drawn
    proof = sheet_text(owner_client, f"{AT}page.pdf?corrected=1")
    assert SAID in proof
    assert "both bars must come out at their full length" in proof


def test_a_printer_is_measured_anew_by_its_name(owner_client, measured):
    assert owner_client.post(AT, typed(across_mm="170", along_mm="210")).status_code == 302
    printer = Printer.objects.get()
    assert printer.scale.is_true
    assert printer.in_use
    trail = AuditEntry.objects.filter(record_kind="printer", action="measured")
    assert trail.count() == 2


def test_one_printer_is_in_use_or_none(owner_client, measured):
    owner_client.post(AT, typed(name="upstairs"))
    upstairs = Printer.objects.get(name="upstairs")
    assert list(Printer.objects.filter(in_use=True)) == [upstairs]
    owner_client.post(f"{AT}use/", {"printer": str(measured.pk)})
    assert list(Printer.objects.filter(in_use=True)) == [measured]
    owner_client.post(f"{AT}use/", {"printer": ""})
    assert not Printer.objects.filter(in_use=True).exists()
    assert "for a true printer" in owner_client.get(AT).content.decode()


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        # Source: ISO 216 and 8.5 x 11 in, 279.4 / 297: 170 and 210 mm come out at 159.93, 197.56.
        ({"across_mm": "160", "along_mm": "197.5"}, "across_mm", "for A4 was fitted on Letter"),
        ({"along_mm": "250"}, "along_mm", "scaled the page"),
        ({"across_mm": "0"}, "across_mm", "1 mm or more"),
        ({"across_mm": "NaN"}, "across_mm", "is no number"),
        ({"along_mm": "1e30"}, "along_mm", "at most 400 mm"),
        ({"along_mm": ""}, "along_mm", "required"),
        ({"name": ""}, "name", "required"),
        ({"name": "n" * 41}, "name", "at most 40"),
        ({"name": "a\0b"}, "name", "Null"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(owner_client, changes, field, words):
    answer = owner_client.post(AT, typed(**changes))
    assert answer.status_code == 200
    assert words in " ".join(answer.context["form"].errors[field])
    assert not Printer.objects.exists()


@pytest.mark.parametrize("key", ["0", "x", "9" * 30, "-1"])
def test_a_printer_that_is_none_is_not_found(owner_client, key):
    assert owner_client.post(f"{AT}use/", {"printer": key}).status_code == 404
