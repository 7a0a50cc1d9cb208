"""House sizes: which feet each fits, sizes graded from one, a style drafted over many feet."""

from decimal import Decimal

import pytest

from workshop.models import AuditEntry, BackgroundJob, Doll, FootVersion
from workshop.selectors.sizes import house_sizes, size_rows
from workshop.services.library import foot_measure
from workshop.services.records import record_save
from workshop.work import run

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

MEASURES = {"foot_length": Decimal("75"), "ball_girth": Decimal("74.2")}
STEPS = {
    "name": "Shelf", "length_step_mm": "6", "girth_step_mm": "3.5", "down": "1", "up": "2"
}  # fmt: skip


@pytest.fixture
def house(owner):
    doll = Doll(name="House 75", material="other")
    record_save(doll, by=owner)
    return foot_measure(doll=doll, foot_side="left", measures=MEASURES, reason="x", by=owner)


def test_a_foot_like_the_size_fits_it_and_a_longer_one_does_not(house, foot_version, owner):
    (row,) = size_rows(house_sizes())
    assert [fit.version for fit in row.fits] == [foot_version]
    assert row.fits[0].most_mm == pytest.approx(0.0, abs=1e-9)
    longer = {"foot_length": Decimal("79"), "ball_girth": Decimal("74.2")}
    again = foot_measure(
        doll=foot_version.doll, foot_side="left", measures=longer, reason="x", by=owner
    )
    (row,) = size_rows(house_sizes())
    assert row.fits == []
    assert [fit.version for fit in row.near] == [again]
    assert dict(row.near[0].differences)["Foot length"] == "+4.0"


def test_the_page_names_the_feet_and_by_how_much(owner_client, house, foot_version):
    body = owner_client.get("/sizes/").content.decode()
    assert "House 75" in body
    assert f"/feet/{foot_version.pk}/" in body
    asked = owner_client.get(f"/sizes/?foot={foot_version.pk}").content.decode()
    assert "piece by piece" in asked
    assert owner_client.get("/sizes/?foot=x").status_code == 200


def test_sizes_are_graded_by_the_stated_steps_with_an_audit_row_each(owner_client, house):
    answer = owner_client.post(f"/sizes/grade/{house.pk}/", STEPS)
    assert answer.headers["Location"] == "/sizes/"
    lengths = sorted(FootVersion.objects.values_list("foot_length", flat=True))
    assert lengths == [Decimal(n) for n in (69, 75, 81, 87)]
    largest = FootVersion.objects.get(foot_length=87)
    assert largest.ball_girth == Decimal("81.2")
    assert (largest.doll.name, largest.doll.customer) == ("Shelf 87", None)
    assert str(house) in largest.reason
    assert AuditEntry.objects.filter(record_kind="footversion", action="measured").count() == 4


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"down": "0", "up": "0"}, "up"),
        ({"length_step_mm": "0"}, "length_step_mm"),
        ({"girth_step_mm": "NaN"}, "girth_step_mm"),
        ({"up": "9"}, "up"),
        ({"name": ""}, "name"),
        ({"length_step_mm": "40", "up": "8"}, "__all__"),
    ],
)
def test_bad_steps_are_told_and_no_size_is_made(owner_client, house, change, field):
    answer = owner_client.post(f"/sizes/grade/{house.pk}/", STEPS | change)
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [field]
    assert Doll.objects.count() == 1


@pytest.fixture
def size_run(owner_client, house, style_version, owner):
    wider = {"foot_length": Decimal("75"), "ball_girth": Decimal("76")}
    doll = Doll(name="Wide 75", material="other")
    record_save(doll, by=owner)
    other = foot_measure(doll=doll, foot_side="left", measures=wider, reason="x", by=owner)
    sent = {"style": style_version.pk, "sizes": [house.pk], "others": other.doll.code}
    answer = owner_client.post("/sizes/run/", sent)
    work = BackgroundJob.objects.get()
    assert answer.headers["Location"] == f"/sizes/run/{work.pk}/"
    return work


def test_a_size_run_shows_each_pieces_nest_and_its_gaps_in_mm(owner_client, size_run):
    waiting = owner_client.get(f"/sizes/run/{size_run.pk}/").content.decode()
    assert "<progress" in waiting
    run(size_run.pk)
    size_run.refresh_from_db()
    assert size_run.state == "done", size_run.fault
    page = owner_client.get(f"/sizes/run/{size_run.pk}/")
    body = page.content.decode()
    assert body.count("<figure") == len(page.context["pieces"])
    toe = next(piece for piece in page.context["pieces"] if piece["name"] == "toe box")
    assert 0.05 < toe["cells"][0]["most_mm"] < 3.0


def test_the_same_run_is_not_made_twice(owner_client, size_run, style_version):
    feet = [row["version"] for row in size_run.inputs["feet"]]
    answer = owner_client.post("/sizes/run/", {"style": style_version.pk, "sizes": feet})
    assert answer.headers["Location"] == f"/sizes/run/{size_run.pk}/"
    assert BackgroundJob.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"sizes": []}, "at least two feet"),
        ({"others": "D-9999"}, "is no doll"),
        ({"others": "O-0001"}, "is no doll"),
        ({"style": "987"}, "valid choice"),
    ],
)
def test_a_run_that_cannot_be_made_says_why(owner_client, house, style_version, change, said):
    sent = {"style": style_version.pk, "sizes": [house.pk], "others": ""} | change
    answer = owner_client.post("/sizes/run/", sent)
    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert not BackgroundJob.objects.exists()


def test_a_helper_sees_sizes_without_contact_data(client, helper, house, foot_version):
    client.force_login(helper)
    body = client.get(f"/sizes/?foot={foot_version.pk}").content.decode()
    assert "House 75" in body
    assert "example.org" not in body
    assert "/customers/" not in body
