"""The try-on sheet on paper, and its answer typed in."""

from decimal import Decimal

import pytest

from patterns.try_on import SCALE_MM, STRIP_MM, strips_of
from tests.pdf_reading import drawn_paths, page_texts
from workshop.bridge import foot_by_measures
from workshop.models import FootVersion

pytestmark = pytest.mark.django_db
GRIP_MM = 6.0


def query_of(client, commission):
    page = client.get(f"/jobs/{commission.pk}/")
    return page.context["query"]


def box_of(path):
    xs, ys = zip(*path.points_mm, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.paper
def test_strips_lie_on_paper_at_true_length(owner_client, commission, choice, foot_version):
    query = query_of(owner_client, commission)
    answer = owner_client.get(f"/jobs/{commission.pk}/try-on/?{query}")
    assert answer["Content-Type"] == "application/pdf"
    boxes = [box_of(path) for page in drawn_paths(answer.content) for path in page]
    long = [
        max(right - left, top - bottom)
        for left, bottom, right, top in boxes
        if abs(min(right - left, top - bottom) - STRIP_MM) < 0.02
    ]
    for strip in strips_of(foot_by_measures(foot_version)):
        asked = strip.girth_mm + SCALE_MM + GRIP_MM
        assert min(abs(found - asked) for found in long) < 0.05, strip
    assert "insole" in " ".join(page_texts(answer.content))


def test_the_answer_becomes_a_version_of_its_own(owner_client, commission, choice, foot_version):
    query = query_of(owner_client, commission)
    page = owner_client.get(f"/jobs/{commission.pk}/try-on/answer/?{query}", follow=True)
    address = page.redirect_chain[-1][0]
    assert "topline=" in address
    sent = {
        "ball_girth_said": "short",
        "ball_girth_mm": "1,5",
        "ankle_girth_said": "meets",
        "topline_said": "over",
        "topline_mm": "2",
        "insole_said": "short",
        "insole_mm": "0.5",
    }
    kept = owner_client.post(address, sent)
    assert kept.status_code == 302
    assert kept["Location"] == f"/jobs/{commission.pk}/"
    new = FootVersion.objects.latest("pk")
    assert (new.version, new.ball_girth) == (foot_version.version + 1, Decimal("75.7"))
    assert new.foot_length == Decimal("75.5")
    assert new.ankle_girth is not None
    assert new.instep_girth is None
    assert len(new.level_girths) == 1
    assert "ball +1.5" in new.reason


@pytest.mark.parametrize(
    ("sent", "box", "words"),
    [
        ({}, "__all__", "one strip at least"),
        ({"ball_girth_said": "short"}, "ball_girth_mm", "how many"),
        ({"ball_girth_mm": "2"}, "ball_girth_said", "Choose one"),
        ({"ball_girth_said": "over", "ball_girth_mm": "9"}, "ball_girth_mm", "at most 8"),
        ({"ball_girth_said": "loose", "ball_girth_mm": "1"}, "ball_girth_said", "valid choice"),
        ({"ball_girth_said": "over", "ball_girth_mm": "x"}, "ball_girth_mm", "no number"),
    ],
)
def test_what_is_not_clear_is_asked_beside_its_box(owner_client, foot_version, sent, box, words):
    answer = owner_client.post(f"/feet/{foot_version.pk}/try-on/", sent)
    assert answer.status_code == 400
    assert words in " ".join(answer.context["form"].errors[box])
    assert FootVersion.objects.count() == 1
