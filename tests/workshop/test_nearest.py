"""Nearest feet of the library for a doll without measures."""

from decimal import Decimal

import pytest

from workshop.models import Doll, FootVersion
from workshop.selectors.nearest import nearest_feet
from workshop.services.library import foot_measure
from workshop.services.records import record_save

pytestmark = pytest.mark.django_db


@pytest.fixture
def library(owner):
    """Four dolls by foot length and ball girth; of the first an older version, too."""
    feet = {"Ash": (70, 70), "Birch": (75, 74), "Cedar": (76, 80), "Elm": (110, 108)}
    for name, (length, ball) in feet.items():
        doll = Doll(name=name)
        record_save(doll, by=owner)
        if name == "Ash":
            foot_measure(doll=doll, foot_side="left", measures=measured(75, 75), reason="old",
                         by=owner)  # fmt: skip
        foot_measure(doll=doll, foot_side="left", measures=measured(length, ball), reason="new",
                     by=owner)  # fmt: skip
    new = Doll(name="Fir")
    record_save(new, by=owner)
    return new


def measured(length, ball):
    return {"foot_length": Decimal(length), "ball_girth": Decimal(ball)}


def test_the_distance_is_the_root_of_the_mean_square_over_what_is_known(library):
    near = nearest_feet(library, measured(75, 77))
    assert [row.version.doll.name for row in near] == ["Birch", "Cedar", "Ash", "Elm"]
    # (0, −3), (1, 3) and (−5, −7) from 75 and 77.
    expected = [(9 / 2) ** 0.5, (10 / 2) ** 0.5, (74 / 2) ** 0.5]
    assert [row.distance_mm for row in near[:3]] == pytest.approx(expected)
    assert near[1].differences[0][1] == "+3.0"


def test_a_foot_is_taken_over_and_marked_as_not_measured(library, owner_client):
    address = f"/dolls/{library.pk}/nearest/?foot_length=75.5&ball_girth=74"
    birch = FootVersion.objects.get(doll__name="Birch")
    assert owner_client.get(address).status_code == 200
    answer = owner_client.post(address, {"foot": birch.pk})
    assert answer.status_code == 302
    made = FootVersion.objects.get(doll=library)
    assert (made.foot_length, made.ball_girth) == (Decimal("75.5"), Decimal("74"))
    assert made.reason.startswith("not measured: taken over from Birch")


@pytest.mark.parametrize("query", ["foot_length=", "foot_length=5", "foot_length=x"])
def test_a_length_that_is_none_is_told_beside_its_box(library, owner_client, query):
    answer = owner_client.get(f"/dolls/{library.pk}/nearest/?{query}")
    assert answer.status_code == 400
    assert answer.context["form"].errors["foot_length"]
    refused = owner_client.post(f"/dolls/{library.pk}/nearest/?foot_length=75", {"foot": "98765"})
    assert refused.status_code == 400
    assert not FootVersion.objects.filter(doll=library).exists()


def test_how_a_style_fits_the_nearest_foot_is_told(library, owner_client, style_version):
    birch = FootVersion.objects.get(doll__name="Birch")
    page = owner_client.get(
        f"/dolls/{library.pk}/nearest/",
        {"foot_length": "75", "style": style_version.pk, "fit": birch.pk},
    )
    assert page.context["fit"]
    assert "on the foot of Birch" in page.content.decode()
