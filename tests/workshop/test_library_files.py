"""The library out and in again: nothing lost, nothing overwritten, all or nothing."""

import json
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import given
from hypothesis import strategies as st

from workshop.library_file import (
    COLUMNS,
    guarded,
    library_csv,
    library_json,
    read_library_csv,
    read_library_json,
    unguarded,
)
from workshop.models import AuditEntry, BackgroundJob, Counter, Customer, Doll, FootVersion
from workshop.selectors.library_export import library_records
from workshop.services.library import foot_measure
from workshop.services.records import record_save
from workshop.work import run

WRITERS = {
    "csv": (library_csv, read_library_csv),
    "json": (library_json, read_library_json),
}
SQUARE_FOOT = [[0.0, -1.5], [75.0, 0.0], [75.0, 30.25], [0.0, 30.0]]


@pytest.fixture
def library(customer, doll, owner):
    """A small library with everything that could get lost on the way."""
    customer.name = "=Merle, \"the\" 'Oak'"
    customer.note = "first line\r\nsecond; line\n'tis a third\n"
    customer.phone = "-1 +2"
    record_save(customer, by=owner)
    record_save(Customer(name="Ödön Bräu, 二"), by=owner)
    record_save(Doll(name="House 60", material="other", feet_kind="heeled"), by=owner)
    foot_measure(
        doll=doll,
        foot_side="left",
        measures={"foot_length": Decimal("75.125"), "ball_girth": Decimal("74.2")},
        knee_clearance_mm=Decimal(118),
        level_girths=[{"height_mm": "60.5", "girth_mm": "70"}],
        sole_outline=SQUARE_FOOT,
        reason="@first measuring",
        by=owner,
    )
    for side in ("left", "right"):
        foot_measure(
            doll=doll,
            foot_side=side,
            measures={"foot_length": Decimal(75), "heel_raise": Decimal(0)},
            reason="again",
            by=owner,
        )


def empty_the_library():
    for model in (FootVersion, Doll, Customer, Counter):
        model.objects.all()._raw_delete("default")


def look(client, data, name="library.csv"):
    data = data if isinstance(data, bytes) else data.encode()
    return client.post("/library/import/", {"library_file": SimpleUploadedFile(name, data)})


def take_in(client, data, name="library.csv"):
    answer = look(client, data, name)
    assert "token" in answer.context, answer.context.get("faults")
    return client.post("/library/import/", {"token": answer.context["token"]}, follow=True)


def table(*rows):
    """Return a table of rows given as dicts."""
    names = [name for name in COLUMNS if any(name in row for row in rows)]
    lines = [",".join(str(row.get(name, "")) for name in names) for row in rows]
    return "\n".join([",".join(names), *lines]) + "\n"


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_out_and_in_again_gives_the_same_library(owner_client, library, ending):
    before = library_records()
    exported = owner_client.get(f"/library/export/?as={ending}")
    assert "attachment" in exported.headers["Content-Disposition"]
    empty_the_library()
    take_in(owner_client, exported.content, f"library.{ending}")
    assert library_records() == before
    assert owner_client.get(f"/library/export/?as={ending}").content == exported.content


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_an_unchanged_library_taken_in_changes_nothing(owner_client, library, ending):
    trail = AuditEntry.objects.count()
    exported = owner_client.get(f"/library/export/?as={ending}").content
    answer = look(owner_client, exported, f"library.{ending}")
    assert answer.context["counts"] == [
        ("customer", 0, 0, 2), ("doll", 0, 0, 2), ("foot", 0, 0, 3),
    ]  # fmt: skip
    take_in(owner_client, exported, f"library.{ending}")
    assert AuditEntry.objects.count() == trail


def test_new_codes_go_on_after_the_highest_one_taken_in(owner_client, db):
    take_in(owner_client, table({"record": "doll", "code": "D-0041", "name": "Sorrel"}))
    record = Doll(name="Next")
    record_save(record, by=None)
    assert record.code == "D-0042"


def test_a_look_stores_nothing(owner_client, db):
    answer = look(owner_client, table({"record": "doll", "code": "D-0001", "name": "Sorrel"}))
    assert answer.context["counts"][1] == ("doll", 1, 0, 0)
    assert not Doll.objects.exists()


def test_a_changed_row_brings_the_record_up_to_date_by_code(owner_client, owner, doll):
    change = table({"record": "doll", "code": "D-0001", "name": "Juniper Blue"})
    take_in(owner_client, change)
    doll.refresh_from_db()
    assert doll.name == "Juniper Blue"
    assert doll.customer is not None, "a column that is missing leaves the value as it is"
    entry = AuditEntry.objects.filter(record_kind="doll").first()
    assert (entry.who, entry.action, entry.before) == (owner, "imported", {"name": "Juniper"})


def test_an_empty_cell_empties_the_value(owner_client, doll):
    take_in(owner_client, "record,code,name,customer\ndoll,D-0001,Juniper,\n")
    doll.refresh_from_db()
    assert doll.customer is None


def foot_row(version, **changes):
    return {
        "record": "foot", "code": "D-0001", "foot_side": "left", "version": version,
        "foot_length": "75", "ball_girth": "74.2", "reason": "first measuring", **changes,
    }  # fmt: skip


def test_the_same_foot_again_is_passed_over(owner_client, foot_version):
    answer = look(owner_client, table(foot_row(1, ball_girth="74.200")))
    assert answer.context["counts"][2] == ("foot", 0, 0, 1)


def test_a_foot_is_never_overwritten_by_a_file(owner_client, foot_version):
    answer = look(owner_client, table(foot_row(1, ball_girth="70")))
    (said,) = answer.context["faults"]
    assert said.startswith("Line 2: D-0001 left 1 is stored with other values (ball_girth)")
    assert FootVersion.objects.get().ball_girth == Decimal("74.2")


def test_a_new_version_is_added_by_a_file(owner_client, owner, foot_version):
    # Rows may stand in any order, as after sorting in a spreadsheet.
    take_in(owner_client, table(foot_row(3, ball_girth="72"), foot_row(2, ball_girth="73")))
    assert FootVersion.objects.get(version=3).ball_girth == Decimal("72")
    assert FootVersion.objects.get(version=3).made_by == owner


BAD_ROWS = [
    ({"record": "doll", "code": "", "name": "x"}, "code"),
    ({"record": "doll", "code": "C-0002", "name": "x"}, "no code of a doll"),
    ({"record": "doll", "code": "D-" + "9" * 30, "name": "x"}, "no code of a doll"),
    ({"record": "doll", "code": "D-0000", "name": "x"}, "no code of a doll"),
    ({"record": "doll", "code": "D-0002", "name": ""}, "name"),
    ({"record": "doll", "code": "D-0002", "name": "x" * 200}, "name"),
    ({"record": "doll", "code": "D-0002", "name": "x", "material": "gold"}, "material"),
    ({"record": "doll", "code": "D-0002", "name": "x", "customer": "C-0099"}, "C-0099"),
    ({"record": "doll", "code": "D-0002", "name": "x", "email": "a@example.org"}, "email"),
    ({"record": "doll", "code": "D-0002", "name": "x", "made_at": "2026-02-31T00:00"}, "made_at"),
    ({"record": "customer", "code": "C-0002", "name": "x", "email": "no mail"}, "email"),
    ({"record": "cat", "code": "D-0002"}, "cat"),
    (foot_row(1, code="D-0077"), "D-0077"),
    (foot_row(3), "cannot follow version 1"),
    (foot_row(0), "version"),
    (foot_row("x"), "version"),
    (foot_row(2, foot_side="up"), "left or right"),
    (foot_row(2, foot_length="nan"), "foot_length"),
    (foot_row(2, foot_length="-4"), "between|25"),
    (foot_row(2, foot_length="1e9"), "foot_length|160"),
    (foot_row(2, ball_girth="5"), "Ball girth is 5 mm"),
    (foot_row(2, level_girths="60 70"), "level_girths"),
    (foot_row(2, sole_outline="0 0; 1 x"), "sole_outline"),
    (foot_row(2, sole_outline="0 0; 75 30; 75 0; 0 30"), "crosses itself"),
    (foot_row(2, reason=""), "reason"),
]


@pytest.mark.parametrize(("row", "words"), BAD_ROWS)
def test_a_bad_row_is_told_by_its_line_and_nothing_of_the_file_is_stored(
    owner_client, foot_version, row, words
):
    good = {"record": "customer", "code": "C-0050", "name": "Good"}
    answer = look(owner_client, table(good, row))
    faults = answer.context["faults"]
    assert answer.status_code == 200
    assert all(said.startswith("Line 3") for said in faults)
    assert any(word in said for said in faults for word in words.split("|")), faults
    assert not Customer.objects.filter(number=50).exists()


def test_every_bad_row_is_listed_up_to_fifty(owner_client, db):
    rows = [{"record": "doll", "code": f"D-{n:04d}", "name": ""} for n in range(1, 81)]
    faults = look(owner_client, table(*rows)).context["faults"]
    assert len(faults) == 51
    assert faults[0].startswith("Line 2:")
    assert faults[49].startswith("Line 51:")
    assert "more faults" in faults[50]


def test_a_code_standing_twice_names_both_lines(owner_client, db):
    row = {"record": "doll", "code": "D-0001", "name": "x"}
    (said,) = look(owner_client, table(row, row)).context["faults"]
    assert said == "Line 3: D-0001 stands twice in this file, first on Line 2; remove one."


def test_what_changed_between_look_and_yes_is_checked_again(owner_client, foot_version, owner):
    answer = look(owner_client, table(foot_row(2, ball_girth="73")))
    foot_measure(
        doll=foot_version.doll,
        foot_side="left",
        measures={"foot_length": Decimal(80)},
        reason="meanwhile",
        by=owner,
    )
    said = owner_client.post("/library/import/", {"token": answer.context["token"]})
    assert "stored with other values" in " ".join(said.context["faults"])
    assert FootVersion.objects.count() == 2


def test_a_token_works_once_and_no_made_up_one_works(owner_client, db):
    token = look(owner_client, table({"record": "doll", "code": "D-0001", "name": "x"})).context[
        "token"
    ]
    owner_client.post("/library/import/", {"token": token})
    for spent in (token, "made-up"):
        answer = owner_client.post("/library/import/", {"token": spent})
        assert "choose it again" in " ".join(answer.context["faults"])


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("x.csv", b"", "empty"),
        ("x.csv", b"name,code\nx,y\n", "Line 1"),
        ("x.csv", b"record,code,colour\n", "colour"),
        ("x.csv", b"record,code,code\n", "twice"),
        ("x.csv", b"record,code\n", "no record"),
        ("x.csv", b"record,code,name\ndoll,D-0001,\xe4\n", "Line 2"),
        ("x.csv", b"record,code,name\ndoll,D-0001,\x00\n", "Line 2"),
        ("x.csv", b"record,code,name\ndoll,D-0001,x,y,z\n", "Line 2"),
        ("x.csv", b'record,code,name\ndoll,D-0001,x\ndoll,D-0002,"' + b"x" * 1_100_000, "Line 3"),
        ("x.json", b'{"format": "doll-footwear-library", "version": 1', "line 1"),
        ("x.json", b"[" * 5000, "deeper"),
        ("x.json", b'{"format": "other", "version": 1}', "library file"),
        ("x.json", b'{"format": "doll-footwear-library", "version": 2}', "version 1"),
        ("x.json", b'{"format": "doll-footwear-library", "version": 1, "unit": "in"}', "mm"),
        ("x.json", b'{"format": "doll-footwear-library", "version": 1, "dolls": 5}', "dolls"),
        ("x.json", b'{"format": "doll-footwear-library", "version": 1, "dolls": [5]}', "entry 1"),
        ("x.txt", b"record,code\n", ".csv or .json"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_is_refused_plainly(owner_client, db, name, data, words):
    answer = look(owner_client, data, name)
    assert answer.status_code == 200
    assert words in " ".join(answer.context["faults"])
    assert not Doll.objects.exists()


def test_no_file_chosen_is_said(owner_client, db):
    answer = owner_client.post("/library/import/", {})
    assert answer.context["faults"] == ["Choose a file first."]


def test_a_json_entry_at_fault_is_told_by_its_place(owner_client, db):
    document = {
        "format": "doll-footwear-library",
        "version": 1,
        "dolls": [{"code": "D-0001", "name": "x"}, {"code": "D-0002", "name": ""}],
    }
    (said,) = look(owner_client, json.dumps(document), "x.json").context["faults"]
    assert said.startswith("Dolls, entry 2: name")


def test_semicolons_of_a_spreadsheet_are_read(owner_client, doll):
    rows = "record;code;foot_side;version;foot_length;reason\nfoot;D-0001;left;1;75,5;first\n"
    take_in(owner_client, rows)
    assert FootVersion.objects.get().foot_length == Decimal("75.5")


RISKY = ["=1+1", "+1", "-1", "@x", "\tx", "'=x", "''", "'tis", "'", "", "a=b"]


@pytest.mark.parametrize("text", RISKY)
def test_no_cell_leaves_as_a_formula_and_each_comes_back(text):
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r"))
    assert unguarded(guarded(text)) == text


@given(st.text())
def test_guarding_a_cell_is_undone_exactly(text):
    assert unguarded(guarded(text)) == text


NAMES = st.text(
    st.characters(blacklist_categories=["Cs", "Cc"]), min_size=1, max_size=40
).map(str.strip).filter(bool)  # fmt: skip
NOTES = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00\r"))


@pytest.mark.parametrize("ending", ["csv", "json"])
@given(name=NAMES, note=NOTES)
def test_any_words_survive_the_file(ending, name, note):
    write, read = WRITERS[ending]
    values = {
        "code": "C-0001", "name": name, "email": "", "phone": "", "address": "", "country": "",
        "note": note, "made_at": "",
    }  # fmt: skip
    (row,) = read(write([("customer", values)]))
    assert row["values"] == values


def test_the_table_defuses_formulas(owner_client, library):
    exported = owner_client.get("/library/export/?as=csv").content.decode("utf-8-sig")
    assert '"\'=Merle, ""the"" \'Oak\'"' in exported
    assert "'@first measuring" in exported
    assert exported.split("\r\n")[0].split(",") == list(COLUMNS)


def test_a_large_file_is_taken_in_behind_the_page(owner_client, monkeypatch):
    monkeypatch.setattr("workshop.views.library_files.AT_ONCE_MOST", 2)
    rows = [{"record": "doll", "code": f"D-{n:04d}", "name": f"Doll {n}"} for n in range(1, 5)]
    token = look(owner_client, table(*rows)).context["token"]
    answer = owner_client.post("/library/import/", {"token": token})
    work = BackgroundJob.objects.get(kind="library import")
    assert answer.url.startswith(f"/background/{work.pk}/?back=")
    assert not Doll.objects.exists()
    run(work.pk)
    work.refresh_from_db()
    assert (work.state, work.result) == ("done", {"new": 4, "changed": 0})
    assert Doll.objects.count() == 4
    back = owner_client.get("/library/import/", {"work": work.pk}).content.decode()
    assert "4 new, 0 changed" in back
    # Run once more it finds the file let go, and says so.
    again = BackgroundJob.objects.create(kind=work.kind, key=work.key, inputs=work.inputs)
    run(again.pk)
    again.refresh_from_db()
    assert again.state == "failed"
    assert "choose it again" in again.fault


def test_a_large_file_is_stopped_before_anything_is_stored(owner_client, monkeypatch):
    monkeypatch.setattr("workshop.views.library_files.AT_ONCE_MOST", 0)
    token = look(owner_client, table({"record": "doll", "code": "D-0001", "name": "A"})).context[
        "token"
    ]
    owner_client.post("/library/import/", {"token": token})
    work = BackgroundJob.objects.get(kind="library import")
    BackgroundJob.objects.filter(pk=work.pk).update(stop_asked=True)
    run(work.pk)
    work.refresh_from_db()
    assert work.state == "stopped"
    assert not Doll.objects.exists()
