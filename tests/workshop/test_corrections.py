"""What a mock-up or wear taught: kept with doll and style, applied, taken back, never deleted."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from tests.pdf_reading import page_texts
from workshop.models import AuditEntry, Correction
from workshop.selectors.corrections import (
    correction_lines,
    corrections_mm,
    corrections_of,
    in_force,
    note_of,
)
from workshop.selectors.styles import pattern_of
from workshop.services.corrections import correction_note, correction_withdraw
from workshop.services.quoting import quote_make, work_out

pytestmark = pytest.mark.django_db

ANKLE = "girth:ankle_girth"
SENT = {"what": f"{ANKLE} less", "amount_mm": "1,5", "reason": "felt gapes at the ankle"}


@pytest.fixture
def style(style_version):
    return style_version.style


@pytest.fixture
def note(commission, style, owner):
    def noted(change="1", place=ANKLE):
        return correction_note(
            commission=commission,
            style=style,
            place=place,
            change_mm=Decimal(change),
            reason="felt mock-up",
            by=owner,
        )

    return noted


def address(commission, style):
    return f"/jobs/{commission.pk}/corrections/{style.pk}/new/"


def test_a_correction_is_noted_with_who_when_why_and_from_which_job(
    owner_client, owner, commission, style
):
    sent = SENT | {"choice": "pairs=2"}
    answer = owner_client.post(address(commission, style), sent)
    assert answer.headers["Location"].startswith(f"/jobs/{commission.pk}/?pairs=2")
    kept = Correction.objects.get()
    assert (kept.place, kept.change_mm) == (ANKLE, Decimal("-1.5"))
    assert (kept.doll, kept.style, kept.commission) == (commission.doll, style, commission)
    assert (kept.made_by, kept.reason) == (owner, "felt gapes at the ankle")
    entry = AuditEntry.objects.get(record_kind="correction")
    assert (entry.who, entry.action) == (owner, "noted")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("what", "girth:elbow less"),
        ("what", f"{ANKLE} up"),
        ("what", ""),
        ("amount_mm", "0"),
        ("amount_mm", "-1"),
        ("amount_mm", "21"),
        ("amount_mm", "NaN"),
        ("amount_mm", ""),
        ("reason", ""),
        ("reason", "x" * 201),
    ],
)
def test_a_bad_value_is_named_beside_its_box_and_nothing_is_kept(
    owner_client, commission, style, name, value
):
    answer = owner_client.post(address(commission, style), SENT | {name: value})
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [name]
    assert not Correction.objects.exists()


def test_corrections_of_one_place_add_up_and_cancel_out(note):
    kept = [note("1"), note("0.5"), note("2", "girth:ball_girth"), note("-2", "girth:ball_girth")]
    assert corrections_mm(kept) == {ANKLE: 1.5}


def test_a_correction_taken_back_stays_in_the_list_and_is_applied_no_more(
    owner_client, owner, commission, style, note
):
    kept = note()
    answer = owner_client.post(f"/corrections/{kept.pk}/withdraw/", {"job": commission.pk})
    assert answer.headers["Location"].startswith(f"/jobs/{commission.pk}/")
    found = corrections_of(commission.doll, style)
    assert [correction.pk for correction in found] == [kept.pk]
    assert in_force(found) == []
    assert found[0].withdrawn_by == owner
    entry = AuditEntry.objects.get(action="taken back")
    assert set(entry.after) == {"withdrawn_at", "withdrawn_by_id"}
    with pytest.raises(ValidationError):
        correction_withdraw(found[0], by=owner)


def test_a_line_is_corrected_in_the_words_of_what_it_is_drawn_in(owner_client, commission, style):
    sent = SENT | {"what": "curve:topline more", "amount_mm": "2"}
    owner_client.post(address(commission, style), sent)
    kept = Correction.objects.get()
    assert (kept.place, kept.change_mm) == ("curve:topline", Decimal(2))
    pattern = pattern_of(style)
    assert note_of(kept, pattern).change == "higher 2 mm"
    lines = correction_lines({"curve:topline": 2.0}, pattern, [kept])
    assert lines == ("Topline higher 2 mm (felt gapes at the ankle)",)


def test_what_was_noted_cannot_be_changed_afterwards(note):
    kept = Correction.objects.get(pk=note().pk)
    kept.change_mm = Decimal(3)
    with pytest.raises(ValueError, match="stays as it was"):
        kept.save()


@pytest.mark.paper
def test_the_job_page_lists_them_and_draws_with_them_unless_they_are_left_out(
    owner_client, commission, choice, note
):
    note("-2")
    page = owner_client.get(f"/jobs/{commission.pk}/")
    body = page.content.decode()
    assert "in 2 mm" in body
    assert "felt mock-up" in body
    assert page.context["worked"].choice.corrections == {ANKLE: -2.0}
    bare = owner_client.get(f"/jobs/{commission.pk}/?corrections=left out")
    assert bare.context["worked"].choice.corrections == {}
    assert "Left out of the pieces" in bare.content.decode()


def test_another_doll_or_style_has_corrections_of_its_own(owner, commission, style, note):
    from workshop.models import Doll, Style
    from workshop.services.records import record_save
    from workshop.services.styles import style_make

    note()
    other = Doll(name="Sorrel")
    record_save(other, by=owner)
    second = style_make(Style(name="Second", file_name=style.file_name), by=owner).style
    assert corrections_of(other, style) == []
    assert corrections_of(commission.doll, second) == []


@pytest.mark.paper
def test_a_helper_notes_and_takes_back_and_a_bookkeeper_only_reads(
    client, helper, bookkeeper, commission, style, choice
):
    client.force_login(helper)
    client.post(address(commission, style), SENT)
    kept = Correction.objects.get()
    assert kept.made_by == helper
    client.force_login(bookkeeper)
    body = client.get(f"/jobs/{commission.pk}/").content.decode()
    assert "felt gapes at the ankle" in body
    assert "/withdraw/" not in body
    assert "/corrections/" not in body
    assert client.post(f"/corrections/{kept.pk}/withdraw/").status_code == 403


@pytest.mark.paper
def test_corrected_pieces_say_so_on_the_sheets_of_the_job_and_of_its_quote(
    owner_client, owner, commission, choice, note
):
    note("2", "curve:topline")
    corrected = replace(choice, corrections={"curve:topline": 2.0})
    higher, plain = work_out(corrected), work_out(choice)
    tall, short = (
        max(y for _, y in worked.pieces.piece("outer side").net_mm)
        - min(y for _, y in worked.pieces.piece("outer side").net_mm)
        for worked in (higher, plain)
    )
    assert tall - short == pytest.approx(2.0, abs=0.3)
    for name in ("cutting-sheet", "mock-up"):
        sheet = owner_client.get(f"/jobs/{commission.pk}/{name}/").content
        assert "Corrected: Topline higher 2 mm (felt mock-up)" in " ".join(page_texts(sheet))
    quote = quote_make(higher, by=owner)
    sheet = owner_client.get(f"/quotes/{quote.pk}/cutting-sheet/").content
    assert "Corrected: Topline higher 2 mm" in " ".join(page_texts(sheet))
