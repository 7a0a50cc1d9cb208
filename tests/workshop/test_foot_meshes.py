"""A foot's mesh: read in the child, shown, confirmed, kept with its measures, never changed."""

import io
import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command

from patterns.mesh_in import FootMesh, read_mesh
from workshop import mesh_files
from workshop.bridge import foot_document, foot_from_version
from workshop.kept_files import file_path
from workshop.library_file import library_csv, read_library_csv
from workshop.models import AuditEntry, FootVersion
from workshop.pictures import foot_kept
from workshop.selectors.library_export import library_records
from workshop.services.library_import import library_plan

pytestmark = [pytest.mark.usefixtures("files_read_once"), pytest.mark.paper]

SAMPLE = (Path(__file__).parents[1] / "data" / "feet" / "sample_foot.obj").read_bytes()


def stl_of(mesh: FootMesh, scale: float, rows: list[list[int]]) -> bytes:
    """Return a mesh as a binary STL, in another unit and turned."""
    corners = scale * mesh.corners_mm @ np.array(rows, dtype=float).T
    record = np.zeros(
        len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("kept", "<u2")]
    )
    record["corners"] = corners
    return b"\0" * 80 + len(corners).to_bytes(4, "little") + record.tobytes()


def address(doll):
    return f"/dolls/{doll.pk}/feet/mesh/"


def look(client, doll, content=SAMPLE, name="foot.obj", **more):
    file = SimpleUploadedFile(name, content)
    return client.post(address(doll), {"mesh_file": file, **more})


def fields_of(answer):
    """Return what the form on the preview would send, as it is shown."""
    form = answer.context["form"]
    return {name: form[name].value() or "" for name in ("token", "unit", "toes", "up", "seen")}


def confirm(client, doll, answer, **changes):
    return client.post(address(doll), fields_of(answer) | {"confirm": "1"} | changes)


@pytest.fixture
def mesh_version(owner_client, doll):
    kept = confirm(owner_client, doll, look(owner_client, doll))
    form = owner_client.get(kept.headers["Location"]).context["form"]
    sent = {name: form[name].value() or "" for name in form.fields}
    owner_client.post(f"/dolls/{doll.pk}/feet/new/", sent)
    return FootVersion.objects.get()


def test_a_mesh_is_shown_with_its_unit_pose_and_length_before_anything_is_kept(owner_client, doll):
    answer = look(owner_client, doll)
    body = answer.content.decode()
    assert "75.0 mm" in body
    assert "millimetres" in body
    assert 'class="drawing"' in body
    assert 'name="confirm"' in body
    assert not FootVersion.objects.exists()


def test_a_mesh_in_metres_lying_on_its_back_is_set_up(owner_client, doll):
    turned = stl_of(read_mesh(SAMPLE, "f.obj"), 0.001, [[1, 0, 0], [0, 0, -1], [0, 1, 0]])
    answer = look(owner_client, doll, turned, "foot.stl")
    seen = answer.context["seen"]
    assert (seen["unit"], seen["toes"], seen["up"]) == ("m", "+x", "-y")
    assert seen["foot_length_mm"] == pytest.approx(75.0, abs=0.01)
    # The sample's own measure, read off it before it was turned and made small.
    assert seen["measures"]["ball_girth"] == pytest.approx(74.2, abs=0.02)


def test_confirming_leads_to_the_measures_read_off_and_keeping_them_keeps_the_mesh(
    owner_client, doll, mesh_version
):
    # Source: tests/data/feet/sample_foot.json, measured independently of this code.
    assert mesh_version.ball_girth == Decimal("74.2")
    assert mesh_version.instep_height == Decimal("20.65")
    assert mesh_version.reason == "read off a mesh"
    assert mesh_version.mesh["unit"] == "mm"
    assert mesh_version.mesh["triangles"] == 2466
    foot = foot_from_version(mesh_version)
    assert foot.source_kind == "mesh"
    assert len(foot.mesh.triangles) == 2466
    assert AuditEntry.objects.filter(record_kind="footversion", action="measured").exists()


def test_other_choices_than_those_drawn_are_drawn_before_they_can_be_confirmed(owner_client, doll):
    first = look(owner_client, doll)
    answer = confirm(owner_client, doll, first, unit="cm")
    assert answer.status_code == 200
    assert answer.context["changed"]
    assert "750.0 mm" in answer.content.decode()
    assert answer.context["seen"]["problems"]
    assert 'name="confirm"' not in answer.content.decode()


def test_axes_that_are_one_line_are_refused(owner_client, doll):
    first = look(owner_client, doll)
    answer = owner_client.post(address(doll), fields_of(first) | {"toes": "+x", "up": "-x"})
    assert "do not go together" in answer.content.decode()


BAD = [
    (b"", "foot.obj", "empty"),
    (b"nothing of a mesh", "foot.stl", "mesh"),
    (b"v 0 0 zero\n", "foot.obj", "line 1"),
    (SAMPLE, "foot.txt", ".ply"),
    (SAMPLE[: len(SAMPLE) // 2], "foot.obj", "mesh"),
]


@pytest.mark.parametrize(("content", "name", "said"), BAD)
def test_a_bad_file_is_told_in_words_and_nothing_is_kept(owner_client, doll, content, name, said):
    answer = look(owner_client, doll, content, name)
    assert answer.status_code == 200
    assert said in " ".join(answer.context["faults"])
    assert not FootVersion.objects.exists()


def test_a_mesh_with_a_hole_or_two_feet_is_drawn_but_cannot_be_confirmed(owner_client, doll):
    mesh = read_mesh(SAMPLE, "f.obj")
    torn = FootMesh(mesh.vertices_mm, mesh.triangles[50:])
    answer = look(owner_client, doll, stl_of(torn, 1.0, np.eye(3, dtype=int).tolist()), "t.stl")
    assert answer.context["seen"]["problems"]
    assert 'class="drawing"' in answer.content.decode()
    forced = confirm(owner_client, doll, answer)
    assert forced.status_code == 200
    assert not FootVersion.objects.exists()


def test_one_triangle_is_no_foot(owner_client, doll):
    answer = look(owner_client, doll, b"v 0 0 0\nv 75 0 0\nv 0 30 0\nf 1 2 3\n")
    assert answer.context["seen"]["problems"]
    assert 'name="confirm"' not in answer.content.decode()


def test_a_mesh_held_for_one_person_is_no_other_persons(owner_client, client, helper, doll):
    first = look(owner_client, doll)
    client.force_login(helper)
    answer = confirm(client, doll, first)
    assert "choose it again" in answer.content.decode()


def test_a_foot_length_that_is_not_the_meshs_is_refused_beside_its_box(owner_client, doll):
    kept = confirm(owner_client, doll, look(owner_client, doll))
    form = owner_client.get(kept.headers["Location"]).context["form"]
    token = form["mesh_token"].value()
    sent = {"foot_side": "left", "foot_length": "90", "reason": "x", "mesh_token": token}
    answer = owner_client.post(f"/dolls/{doll.pk}/feet/new/", sent)
    assert list(answer.context["form"].errors) == ["foot_length"]
    assert "75.0 mm long" in answer.content.decode()
    assert not FootVersion.objects.exists()


@pytest.mark.every_database
def test_measuring_again_keeps_the_mesh_unless_it_is_unticked(owner_client, doll, mesh_version):
    where = f"/dolls/{doll.pk}/feet/new/?from={mesh_version.pk}"
    sent = {"foot_side": "left", "foot_length": "75", "reason": "again"}
    owner_client.post(where, sent | {"keep_mesh": "on"})
    owner_client.post(where, sent)
    second, third = FootVersion.objects.exclude(pk=mesh_version.pk).order_by("version")
    assert second.mesh == mesh_version.mesh
    assert third.mesh == {}


@pytest.mark.every_database
def test_the_same_mesh_is_one_file_and_comes_out_as_it_was_kept(owner_client, mesh_version):
    digest = mesh_version.mesh["sha256"]
    content = owner_client.get(f"/feet/{mesh_version.pk}/mesh.obj").content
    assert mesh_files.mesh_keep(content) == digest
    again = read_mesh(content, "mesh.obj")
    assert np.allclose(again.points_mm, read_mesh(SAMPLE, "f.obj").points_mm, atol=1e-4)


@pytest.mark.every_database
def test_a_foot_in_a_snapshot_finds_its_mesh_again(mesh_version):
    document = foot_document(mesh_version)
    assert document["mesh"] == f"{mesh_version.mesh['sha256']}.obj"
    assert foot_kept(document) == foot_from_version(mesh_version)


@pytest.fixture
def lost(mesh_version):
    path = file_path(mesh_files.FOLDER, mesh_files.ENDING, mesh_version.mesh["sha256"])
    content = path.read_bytes()
    path.unlink()
    mesh_files.mesh_of.cache_clear()
    yield mesh_version
    path.write_bytes(content)


def test_a_lost_mesh_is_told_on_the_foots_page_and_by_the_check(owner_client, lost):
    body = owner_client.get(f"/feet/{lost.pk}/").content.decode()
    assert "is not in the data folder" in body
    err = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("check_records", stderr=err, stdout=io.StringIO())
    assert str(lost) in err.getvalue()
    assert owner_client.get(f"/feet/{lost.pk}/mesh.obj").status_code == 404


def test_a_mesh_changed_behind_our_back_is_not_taken_for_the_kept_one(mesh_version):
    path = file_path(mesh_files.FOLDER, mesh_files.ENDING, mesh_version.mesh["sha256"])
    content = path.read_bytes()
    path.write_bytes(content + b"v 1 1 1\n")
    try:
        with pytest.raises(Exception, match="not in the data folder as it was kept"):
            mesh_files.mesh_content(mesh_version.mesh["sha256"])
    finally:
        path.write_bytes(content)


@pytest.mark.parametrize("name", ["../../secret_key", "a" * 63, "A" * 64, "", "/etc/passwd"])
def test_no_name_leads_out_of_the_folder_of_meshes(name):
    assert not mesh_files.mesh_is_here(name)


@pytest.mark.every_database
def test_a_library_file_names_the_mesh_and_takes_it_back_where_its_file_is(mesh_version):
    rows = read_library_csv(library_csv(library_records()))
    plan = library_plan(rows)
    assert (plan.same["foot"], plan.faults) == (1, [])
    digest = mesh_version.mesh["sha256"]
    assert any(row["values"].get("mesh") == digest for row in rows)
    foot = next(row for row in rows if row["record"] == "foot")
    foot["values"] |= {"version": "2", "mesh": "0" * 64}
    assert [found["code"] for found in library_plan(rows).faults] == ["mesh-lost"]


def test_a_helper_may_read_a_mesh_and_a_bookkeeper_may_not(client, helper, bookkeeper, doll):
    client.force_login(helper)
    assert look(client, doll).status_code == 200
    client.force_login(bookkeeper)
    assert client.get(address(doll)).status_code == 403
    assert not re.search("example.org", look(client, doll).content.decode())
