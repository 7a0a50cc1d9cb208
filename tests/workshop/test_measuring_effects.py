"""Which measure to take again: worked out behind, told in one sentence on the job's page."""

import pytest

from workshop import work as background
from workshop.measuring import effects_key, effects_shown
from workshop.models import BackgroundJob
from workshop.services.quoting import work_out

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


@pytest.fixture
def begun(owner_client, choice):
    sent = {"style": choice.style.pk, "foot": choice.foot.pk, "pairs": 1, "hand": "customer"}
    answer = owner_client.post(f"/jobs/{choice.commission.pk}/effects/", sent)
    assert "station=foot" in answer.headers["Location"]
    return BackgroundJob.objects.get()


def test_the_work_is_that_of_the_choice_and_of_whose_hand_held_the_tape(begun, choice):
    asked = work_out(choice).asked
    assert begun.key == effects_key(asked, "customer") != effects_key(asked, "own")
    assert begun.inputs["error_mm"] == 1.0
    assert begun.inputs["foot"]["measures"] == {"foot_length": 75.0, "ball_girth": 74.2}


def finish(work, monkeypatch, effects):
    """Do the worker's part with known effects: the core's own tests look at the figures."""
    monkeypatch.setattr(background, "measuring_effects", lambda *args, **more: effects)
    background.run(work.pk)


def test_the_measure_that_moves_the_upper_most_is_named_first(
    owner_client, begun, choice, monkeypatch
):
    from patterns.drafting.effects import MeasureEffect

    effects = (
        MeasureEffect("ankle_height", 1.0, True, {"filler": 3.0, "outer side": 0.4}),
        MeasureEffect("ball_girth", 1.0, False, {"toe box": 0.9, "filler": 0.1}),
    )
    finish(begun, monkeypatch, effects)
    worked = work_out(choice)
    shown = effects_shown(worked.asked, "customer", worked.pieces)
    assert [row.label for row in shown.rows] == ["Ball girth", "Ankle height"]
    page = owner_client.get(
        f"/jobs/{choice.commission.pk}/?station=foot&hand=customer"
    ).content.decode()
    assert "Take the ball girth again first: 1.0 mm there move the toe box by 0.9 mm." in page


def test_an_inferred_measure_is_asked_for_rather_than_taken_again(begun, choice, monkeypatch):
    from patterns.drafting.effects import MeasureEffect

    effects = (MeasureEffect("instep_height", 1.2, True, {"outer side": 1.5}),)
    finish(begun, monkeypatch, effects)
    worked = work_out(choice)
    advice = effects_shown(worked.asked, "customer", worked.pieces).advice
    assert advice.startswith("Take the instep height: it is inferred so far")


def test_work_that_is_stopped_ends_stopped(begun, monkeypatch):
    def stopped(*_arguments, progress, **_options):
        BackgroundJob.objects.filter(pk=begun.pk).update(stop_asked=True)
        for done in range(13):
            progress(done, 13)
        raise AssertionError("went on after it was stopped")

    monkeypatch.setattr(background, "measuring_effects", stopped)
    background.run(begun.pk)
    begun.refresh_from_db()
    assert begun.state == "stopped"


def test_a_bookkeeper_begins_no_work(client, bookkeeper, choice):
    client.force_login(bookkeeper)
    assert client.post(f"/jobs/{choice.commission.pk}/effects/").status_code == 403
