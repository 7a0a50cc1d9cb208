"""A foot's last goes out as closed bodies and cards, left and right, the wrap stated."""

import numpy as np
import pytest

from patterns.mesh_in import openings, read_mesh

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


def fetch(client, version, **query):
    return client.get(f"/feet/{version.pk}/last/", query)


@pytest.mark.parametrize("kind", ["stl", "obj"])
def test_a_last_is_a_closed_body_in_mm(owner_client, foot_version, kind):
    answer = fetch(owner_client, foot_version, kind=kind, side="left")
    assert f"last-bare.{kind}" in answer.headers["Content-Disposition"]
    body = read_mesh(answer.content, f"last.{kind}")
    assert openings(body) == []
    # STL holds numbers of seven digits: a few micrometres on a foot of 75 mm.
    low = body.points_mm[body.points_mm[:, 2] < 20]
    assert np.ptp(low[:, 0]) == pytest.approx(75.0, abs=0.05)


def test_left_and_right_are_mirror_images(owner_client, foot_version):
    left, right = (
        read_mesh(fetch(owner_client, foot_version, kind="obj", side=side).content, "last.obj")
        for side in ("left", "right")
    )
    assert np.allclose(left.points_mm * [1, -1, 1], right.points_mm, atol=1e-3)


def test_a_wrap_makes_the_last_wider_and_stands_in_name_and_file(owner_client, foot_version):
    bare = fetch(owner_client, foot_version, kind="obj", side="left")
    answer = fetch(owner_client, foot_version, kind="obj", side="left", wrap_mm="1,5")
    assert "last-wrapped.obj" in answer.headers["Content-Disposition"]
    assert b"wrap of 1.50 mm included" in answer.content
    wide, narrow = (
        np.ptp(read_mesh(each.content, "l.obj").points_mm[:, 1]) for each in (answer, bare)
    )
    assert wide - narrow == pytest.approx(3.0, abs=0.3)


def test_cards_come_as_pdf(owner_client, foot_version):
    answer = fetch(owner_client, foot_version, kind="cards", side="left")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("name", "value"),
    [("wrap_mm", "-1"), ("wrap_mm", "99"), ("top_mm", "NaN"), ("side", "up"), ("kind", "exe")],
)
def test_a_bad_value_is_told_beside_its_box(owner_client, foot_version, name, value):
    answer = fetch(owner_client, foot_version, **{"kind": "stl", "side": "left", name: value})
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [name]
