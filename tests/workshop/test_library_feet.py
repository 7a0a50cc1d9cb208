"""Feet: kept as typed, never overwritten, refused when no one foot can be like that."""

import json
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from patterns.drawing.foot import draw_measure
from patterns.foot import MEASURE_KEYS
from workshop.bridge import foot_from_version
from workshop.models import AuditEntry, FootVersion
from workshop.services.library import foot_measure

pytestmark = pytest.mark.usefixtures("files_read_once")

SQUARE_FOOT = [[0, 0], [75, 0], [75, 30], [0, 30]]
CROSSING = [[0, 0], [75, 30], [75, 0], [0, 30]]


def sent(**changes):
    """Return what the form sends for a plain foot, with changes."""
    return {"foot_side": "left", "reason": "first measuring", "foot_length": "75", **changes}


def measure(client, doll, **changes):
    return client.post(f"/dolls/{doll.pk}/feet/new/", sent(**changes))


def json_file(document, name="tracing.json"):
    return SimpleUploadedFile(name, json.dumps(document).encode())


def test_a_typed_length_comes_back_as_it_was_typed(owner_client, doll):
    measure(owner_client, doll, ball_girth="74.25", ball_width="31,8")
    foot = FootVersion.objects.get()
    assert foot.ball_width == Decimal("31.8")
    again = owner_client.get(f"/dolls/{doll.pk}/feet/new/?from={foot.pk}").content.decode()
    assert 'name="ball_girth" value="74.25"' in again
    assert 'name="ball_width" value="31.8"' in again
    assert 'name="foot_length" value="75"' in again


def test_measuring_again_counts_up_for_that_doll_and_side(owner_client, doll):
    for side in ("left", "left", "right"):
        measure(owner_client, doll, foot_side=side)
    kept = set(FootVersion.objects.values_list("foot_side", "version"))
    assert kept == {("left", 1), ("left", 2), ("right", 1)}


def test_a_kept_foot_is_never_written_over(foot_version):
    foot_version.ball_girth = Decimal("70")
    with pytest.raises(ValidationError):
        foot_version.save()
    with pytest.raises(ValidationError):
        foot_version.delete()


def test_who_when_and_why_are_kept(owner_client, owner, doll):
    measure(owner_client, doll, reason="the calf was read wrongly")
    foot = FootVersion.objects.get()
    assert (foot.made_by, foot.reason) == (owner, "the calf was read wrongly")
    entry = AuditEntry.objects.get(record_kind="footversion")
    assert (entry.who, entry.action) == (owner, "measured")


def test_the_form_asks_all_thirteen_with_unit_help_and_drawing(owner_client, doll):
    body = owner_client.get(f"/dolls/{doll.pk}/feet/new/").content.decode()
    places = [body.index(f'name="{key}"') for key in MEASURE_KEYS]
    assert places == sorted(places)
    assert body.count("measure-drawing") == len(MEASURE_KEYS)
    for key in MEASURE_KEYS:
        label = FootVersion._meta.get_field(key).verbose_name
        assert "(mm)" in label
        assert str(label).capitalize() in body
        assert draw_measure(key).strokes


WRONG = [
    ("foot_length", "", "required"),
    ("foot_length", "-3", "25"),
    ("foot_length", "NaN", "no number"),
    ("foot_length", "Infinity", "no number"),
    ("foot_length", "seventy", "no number"),
    ("foot_length", "1e9", "160"),
    ("foot_length", "7500", "160"),
    ("foot_length", "75.12345", "three decimals"),
    ("foot_length", "٧٥", "no number"),
    ("foot_length", "7_5", "no number"),
    ("foot_length", "1e999999", "no number"),
    ("ball_girth", "-1", "0 mm or more"),
    ("ball_girth", "1e9", "1000"),
    ("ball_girth", "nan", "no number"),
    ("ball_girth", "12", "should lie between"),
    ("calf_height", "9" * 19, "1000"),
    ("ball_girth", "9" * 400, "20 characters"),
    ("knee_clearance_mm", "3", "more than the ankle"),
    ("foot_side", "middle", "valid choice"),
    ("reason", "", "required"),
    ("reason", "x" * 201, "200 characters"),
]


@pytest.mark.parametrize(("name", "typed", "said"), WRONG)
def test_a_bad_value_is_named_beside_its_box_and_nothing_is_stored(
    owner_client, doll, name, typed, said
):
    answer = measure(owner_client, doll, **{name: typed})
    assert answer.status_code == 200
    errors = answer.context["form"].errors
    assert list(errors) == [name]
    assert said in " ".join(errors[name])
    assert not FootVersion.objects.exists()


def test_an_impossible_set_is_named_beside_the_box_at_fault(owner_client, doll):
    answer = measure(owner_client, doll, ball_width="31.8", ball_girth="40")
    assert list(answer.context["form"].errors) == ["ball_girth"]
    assert "63.6" in answer.content.decode()
    assert not FootVersion.objects.exists()


def test_level_girths_and_knee_are_kept_for_tall_shafts(owner_client, doll):
    measure(
        owner_client,
        doll,
        knee_clearance_mm="118",
        level_girths_height=["60", "", "75.50"],
        level_girths_girth=["70", "", "91,9"],
    )
    foot = FootVersion.objects.get()
    assert foot.level_girths == [
        {"height_mm": "60", "girth_mm": "70"},
        {"height_mm": "75.5", "girth_mm": "91.9"},
    ]
    core = foot_from_version(foot)
    assert core.level_girths[1].girth_mm == 91.9
    assert core.knee_clearance_mm == 118.0


@pytest.mark.parametrize("pair", [("60", ""), ("sixty", "70"), ("0", "70"), ("60", "-1")])
def test_a_bad_row_of_level_girths_is_named(owner_client, doll, pair):
    answer = measure(
        owner_client, doll, level_girths_height=["50", pair[0]], level_girths_girth=["70", pair[1]]
    )
    assert "Row 2" in str(answer.context["form"].errors["level_girths"])
    assert not FootVersion.objects.exists()


def test_the_service_refuses_what_the_form_would(doll, owner):
    with pytest.raises(ValidationError) as caught:
        foot_measure(
            doll=doll,
            foot_side="left",
            measures={"foot_length": Decimal(75), "ball_girth": Decimal(5)},
            reason="x",
            by=owner,
        )
    assert "ball_girth" in caught.value.message_dict
    assert not FootVersion.objects.exists()


def test_live_checks_say_the_same_as_sending_the_form(owner_client, doll):
    address = f"/dolls/{doll.pk}/feet/check/"
    values = sent(ball_width="31.8", ball_girth="40")
    body = owner_client.post(address, values, headers={"HX-Request": "true"}).content.decode()
    said = measure(owner_client, doll, **values).context["form"].errors["ball_girth"][0]
    assert said in body
    assert 'id="note-ball_girth" hx-swap-oob="true"' in body
    assert not FootVersion.objects.exists()


def test_live_checks_show_what_would_be_inferred_and_what_helps_most(owner_client, doll):
    body = owner_client.post(f"/dolls/{doll.pk}/feet/check/", sent(reason="")).content.decode()
    assert "inferred as 20.7 mm" in body  # 0.27537 x 75, the sample foot's proportion
    assert "<strong>Instep height</strong>" in body
    assert "required" not in body


def test_a_foot_page_tells_inferred_from_taken(owner_client, foot_version):
    card = owner_client.get(f"/feet/{foot_version.pk}/").context["card"]
    shown = {row.key: (row.value, row.inferred) for row in card.rows}
    assert shown["ball_girth"] == ("74.2", False)
    assert shown["instep_height"][1]
    assert card.most_helpful == "Instep height"
    assert card.given_count == 2


def test_an_older_foot_the_rules_now_refuse_still_shows_and_says_why(owner_client, doll, owner):
    odd = FootVersion(doll=doll, version=1, foot_length=75, ball_girth=5, reason="x", made_by=owner)
    odd.save()
    answer = owner_client.get(f"/feet/{odd.pk}/")
    assert answer.status_code == 200
    assert "Ball girth is 5 mm" in answer.content.decode()


@pytest.mark.paper
def test_a_tracing_is_shown_before_it_is_kept(owner_client, doll):
    file = json_file({"sole_outline": SQUARE_FOOT})
    answer = measure(owner_client, doll, tracing_file=file)
    assert not FootVersion.objects.exists()
    assert "75.0 mm" in answer.content.decode()
    token = answer.context["token"]
    measure(owner_client, doll, tracing_token=token)
    assert FootVersion.objects.get().sole_outline == SQUARE_FOOT


@pytest.mark.paper
def test_a_sole_drawn_in_svg_is_a_tracing_in_its_unit(owner_client, doll):
    points = "100,40 120,30 160,28 175,40 160,56 120,52"
    drawing = f'<svg viewBox="0 0 300 80"><polygon points="{points}"/></svg>'.encode()

    def file():
        return SimpleUploadedFile("sole.svg", drawing)

    answer = measure(owner_client, doll, tracing_file=file())
    assert "how large the drawing is" in answer.content.decode()
    answer = measure(owner_client, doll, tracing_file=file(), tracing_unit="mm")
    assert "75.0 mm" in answer.content.decode()
    assert not FootVersion.objects.exists()
    measure(owner_client, doll, tracing_token=answer.context["token"])
    sole = FootVersion.objects.get().sole_outline
    assert min(x for x, _ in sole) == 0.0
    assert max(x for x, _ in sole) == 75.0


def test_the_same_file_sent_again_after_the_look_is_kept(owner_client, doll):
    first = measure(owner_client, doll, tracing_file=json_file({"sole_outline": SQUARE_FOOT}))
    measure(
        owner_client,
        doll,
        tracing_file=json_file({"sole_outline": SQUARE_FOOT}),
        tracing_token=first.context["token"],
    )
    assert FootVersion.objects.get().sole_outline == SQUARE_FOOT


@pytest.mark.paper
def test_the_preview_stores_no_foot_and_keeps_what_was_typed(owner_client, doll):
    values = sent(ball_girth="74.2", tracing_file=json_file({"sole_outline": SQUARE_FOOT}))
    answer = owner_client.post(f"/dolls/{doll.pk}/feet/tracing/", values)
    body = answer.content.decode()
    assert 'value="74.2"' in body
    assert f'action="/dolls/{doll.pk}/feet/new/"' in body
    assert answer.context["preview"]
    assert not FootVersion.objects.exists()


@pytest.mark.paper
def test_the_preview_answers_a_script_with_the_drawing_alone(owner_client, doll):
    values = sent(tracing_file=json_file({"sole_outline": SQUARE_FOOT}))
    answer = owner_client.post(
        f"/dolls/{doll.pk}/feet/tracing/", values, headers={"HX-Request": "true"}
    )
    body = answer.content.decode()
    assert body.startswith('<div id="tracing-seen">')
    assert "<html" not in body


def test_a_tracing_held_for_one_person_is_no_other_persons(owner_client, doll, helper, client):
    token = measure(
        owner_client, doll, tracing_file=json_file({"sole_outline": SQUARE_FOOT})
    ).context["token"]
    client.force_login(helper)
    answer = measure(client, doll, tracing_token=token)
    assert "choose it again" in answer.content.decode()
    assert not FootVersion.objects.exists()


@pytest.mark.parametrize(
    ("document", "said"),
    [
        ({"sole_outline": CROSSING}, "crosses itself"),
        ({"sole_outline": [[0, 0], [1, 1]]}, "points"),
        ({"sole_outline": [[0, "a"], [1, 1], [2, 2]]}, "number"),
        ({}, "no points"),
        ({"unit": "inch", "sole_outline": SQUARE_FOOT}, "millimetres"),
    ],
)
@pytest.mark.paper
def test_a_bad_tracing_is_refused_with_its_reason(owner_client, doll, document, said):
    answer = measure(owner_client, doll, tracing_file=json_file(document))
    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert not FootVersion.objects.exists()


@pytest.mark.paper
def test_a_tracing_of_another_size_than_the_foot_is_refused(owner_client, doll):
    large = [[2 * x, 2 * y] for x, y in SQUARE_FOOT]
    token = measure(owner_client, doll, tracing_file=json_file({"sole_outline": large})).context[
        "token"
    ]
    answer = measure(owner_client, doll, tracing_token=token)
    assert "Check the scale and the unit" in answer.content.decode()
    assert not FootVersion.objects.exists()


def test_measuring_again_keeps_the_tracing_unless_it_is_unticked(owner_client, doll):
    token = measure(
        owner_client, doll, tracing_file=json_file({"sole_outline": SQUARE_FOOT})
    ).context["token"]
    measure(owner_client, doll, tracing_token=token)
    first = FootVersion.objects.get()
    address = f"/dolls/{doll.pk}/feet/new/?from={first.pk}"
    owner_client.post(address, sent(keep_tracing="on"))
    owner_client.post(address, sent())
    second, third = FootVersion.objects.exclude(pk=first.pk).order_by("version")
    assert second.sole_outline == SQUARE_FOOT
    assert third.sole_outline == []


def test_a_version_of_another_doll_fills_no_form(owner_client, foot_version):
    from workshop.models import Doll
    from workshop.services.records import record_save

    other = Doll(name="Sorrel")
    record_save(other, by=None)
    answer = owner_client.get(f"/dolls/{other.pk}/feet/new/?from={foot_version.pk}")
    assert answer.context["before"] is None
    assert owner_client.get(f"/dolls/{other.pk}/feet/new/?from=x").status_code == 200


def test_a_foot_measured_for_a_job_leads_back_to_the_job(owner_client, owner, customer, doll):
    from workshop.models import Commission
    from workshop.services.orders import commission_take_in

    job = commission_take_in(customer=customer, doll=doll, by=owner)
    answer = owner_client.post(f"/dolls/{doll.pk}/feet/new/?job={job.pk}", sent())
    assert answer.headers["Location"] == f"/jobs/{job.pk}/"
    # A job of another doll, or none, leads to the foot.
    for other in (Commission.objects.count() + 99, "x", "9" * 40):
        answer = owner_client.post(f"/dolls/{doll.pk}/feet/new/?job={other}", sent())
        assert answer.headers["Location"].startswith("/feet/")
