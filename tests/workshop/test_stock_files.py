"""Photographs and outlines handed in: read elsewhere, kept plain, faults beside their field."""

import base64
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse
from PIL import Image

from patterns.exchange.outline_file import POINTS_MAX
from tests.workshop.test_stock_leather_pages import SHEET, box, hide_data
from workshop import photo_files, upload_reader
from workshop.models import Hide
from workshop.photo_files import photo_size_px, photo_take
from workshop.uploads import UploadError, read_outline_upload

pytestmark = pytest.mark.paper

CSV = b"x,y\n0,0\n500,0\n500,300\n0,300\n\n100,100\n140,100\n140,130\n"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    photo_files.photo_size_px.cache_clear()
    return tmp_path


@pytest.fixture
def read_here(monkeypatch):
    """Read files in this process, where what the child itself does is not the matter."""

    def read(data, reader, options=None):
        answer = upload_reader.answer_of(reader, data, options or {})
        if "faults" in answer:
            from workshop.fault_words import fault_text

            raise UploadError([fault_text(found) for found in answer["faults"]])
        return answer["value"]

    for module in ("workshop.uploads", "workshop.photo_files"):
        monkeypatch.setattr(f"{module}.read_bytes", read)


def picture(size=(800, 600), kind="JPEG", mode="RGB", **more):
    stream = io.BytesIO()
    Image.new(mode, size, 120).save(stream, kind, **more)
    return stream.getvalue()


def upload(data, name="hide.jpg"):
    return SimpleUploadedFile(name, data)


def test_a_photograph_is_read_in_the_child_and_kept_without_the_cameras_notes(own_folder):
    notes = Image.Exif()
    notes[0x010F] = "a camera of somebody"  # the maker of the camera
    notes[0x8825] = {1: "N", 2: (52.0, 22.0, 12.0)}  # the place
    notes[0x0112] = 6  # it was held upright
    digest = photo_take(upload(picture(exif=notes)))
    content = photo_files.photo_content(digest)
    kept = Image.open(io.BytesIO(content))
    assert kept.size == (600, 800)
    assert not kept.getexif()
    assert b"somebody" not in content
    (own_folder / "photographs" / digest[:2] / f"{digest}.jpg").write_bytes(b"changed")
    assert photo_files.photo_content(digest) is None


def test_a_large_photograph_is_kept_smaller_and_a_clear_one_on_white(read_here):
    digest = photo_take(upload(picture((4000, 1000))))
    assert photo_size_px(digest) == (2400, 600)
    clear = photo_take(upload(picture((200, 200), "PNG", "RGBA")))
    assert photo_size_px(clear) == (200, 200)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no photograph"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "no photograph"),
        (picture()[:2000], "no photograph"),
        (picture(kind="GIF"), "no photograph"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no photograph"),
        (picture((60, 400)), "60 × 400 pixels"),
        (picture((9000, 7000), "PNG", "1"), "9000 × 7000 pixels"),
    ],
    ids=["empty", "head", "cut off", "gif", "svg", "small", "large"],
)
def test_what_is_no_photograph_is_refused_and_nothing_is_kept(read_here, own_folder, data, words):
    with pytest.raises(UploadError) as caught:
        photo_take(upload(data))
    assert words in caught.value.messages[0]
    assert not list(own_folder.rglob("*.jpg"))


def test_an_outline_file_is_read_in_the_child_and_told_by_its_line():
    read = read_outline_upload(upload(CSV, "hide.csv"))
    assert read["outline"] == [[0, 0], [500, 0], [500, 300], [0, 300]]
    assert len(read["defects"]) == 1
    with pytest.raises(UploadError, match="Line 3"):
        read_outline_upload(upload(b"x,y\n0,0\n5,here\n", "hide.csv"))
    with pytest.raises(UploadError, match=r"no \.csv, \.json, \.svg or \.dxf"):
        read_outline_upload(upload(CSV, "hide.txt"))


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (b"", "a.csv", "empty"),
        (b"x,y\n0,\xff\xfe\n", "a.csv", "UTF-8"),
        (b"0,0\n" * 1_000_000, "a.csv", f"{2 * POINTS_MAX} points"),
        (b"0,0\n60,40\n60,0\n0,40\n", "a.csv", "crosses"),
        (b"<svg>\n<polygon points='1,2 x'/></svg>", "a.svg", "Line 2"),
        (b"0\nSECTION\n10\nseven\n", "a.dxf", "Line 4"),
    ],
    ids=["empty", "encoding", "million", "crossing", "svg", "dxf"],
)
def test_a_faulty_outline_file_says_what_and_where(read_here, data, name, words):
    with pytest.raises(UploadError) as caught:
        read_outline_upload(upload(data, name))
    assert words in " ".join(caught.value.messages)


@pytest.mark.django_db
@pytest.mark.parametrize(("unit", "corner"), [("mm", "500, 100"), ("cm", "5000, 1000")])
def test_a_drawing_without_a_size_asks_for_its_unit(
    owner_client, leather_lot, read_here, unit, corner
):
    address = reverse("hide-new", args=[leather_lot.pk])
    drawing = b'<svg viewBox="0 0 600 400"><rect width="500" height="300"/></svg>'
    typed = hide_data(**SHEET)
    page = owner_client.post(address, {**typed, "outline_file": upload(drawing, "hide.svg")})
    assert "how large the drawing is" in " ".join(page.context["file_faults"]["outline"])
    said = {"outline_unit": unit, "outline_file": upload(drawing, "hide.svg")}
    page = owner_client.post(address, {**typed, **said})
    assert f'value="{unit}" selected' in page.content.decode()
    assert corner in page.context["entry"].form["corners"].value().splitlines()
    assert not Hide.objects.exists()


@pytest.mark.django_db
def test_a_files_outline_fills_the_form_and_only_save_records_it(
    owner_client, leather_lot, read_here
):
    address = reverse("hide-new", args=[leather_lot.pk])
    typed = hide_data(**SHEET, defects=[box("round", "10", "10", "8", "8", kind="hole")])
    page = owner_client.post(address, {**typed, "outline_file": upload(CSV, "hide.csv")})
    entry = page.context["entry"]
    assert entry.form["width_mm"].value() == ""
    assert entry.form["corners"].value() == "0, 0\n500, 0\n500, 300\n0, 300"
    rows = [(row["kind"].value(), row["shape"].value()) for row in entry.defects]
    assert rows[:3] == [("hole", "round"), ("", "corners"), ("", "")]
    assert entry.value is not None
    assert not Hide.objects.exists()
    sent = {name: value for name, value in entry.form.data.items() if "file" not in name}
    owner_client.post(address, sent)
    hide = Hide.objects.get()
    assert [row["kind"] for row in hide.defects] == ["hole", "other"]


@pytest.mark.django_db
def test_a_faulty_file_has_its_message_beside_it_and_the_typing_stays(
    owner_client, leather_lot, read_here
):
    address = reverse("hide-new", args=[leather_lot.pk])
    sent = {
        **hide_data(**SHEET),
        "outline_file": upload(b"1,2\n3,x\n", "hide.csv"),
        "photo_file": upload(b"nothing"),
    }
    page = owner_client.post(address, sent)
    assert page.status_code == 200
    assert "Line 2" in page.context["file_faults"]["outline"][0]
    assert "photograph" in page.context["file_faults"]["photo"][0]
    assert page.context["entry"].form["width_mm"].value() == "600"
    assert not Hide.objects.exists()


MARKS = {
    "mark_a_x": "100",
    "mark_a_y": "50",
    "mark_b_x": "500",
    "mark_b_y": "50",
    "marks_mm": "200",
}


@pytest.mark.django_db
def test_a_photograph_goes_with_its_hide_and_is_sent_to_those_who_are_in(
    owner_client, leather_lot, read_here, client, own_folder, capsys
):
    digest = photo_take(upload(picture()))
    data = hide_data(**SHEET, photo=digest, **MARKS)
    owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    hide = Hide.objects.get()
    assert hide.photograph == {
        "sha256": digest,
        "width_px": 800,
        "height_px": 600,
        "marks_px": [[100, 50], [500, 50]],
        "marks_mm": 200,
    }
    page = owner_client.get(reverse("hide", args=[hide.pk])).content.decode()
    address = reverse("photograph", args=[digest])
    assert address in page
    answer = owner_client.get(address)
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert base64.b64encode(answer.content)
    entry = owner_client.get(reverse("hide-change", args=[hide.pk])).context["entry"]
    assert [field.value() for field in entry.form.mark_fields()] == [*list(MARKS.values())]
    call_command("check_records")
    assert "1 hides with a photograph" in capsys.readouterr().out
    (own_folder / "photographs" / digest[:2] / f"{digest}.jpg").unlink()
    with pytest.raises(SystemExit):
        call_command("check_records")
    assert hide.code in capsys.readouterr().err
    for missing in ("0" * 64, "..", "a"):
        assert owner_client.get(f"/leather/photographs/{missing}.jpg").status_code == 404
    client.logout()
    assert client.get(address).status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"mark_b_x": ""}, "mark_b_x"),
        ({"mark_a_x": "801"}, "mark_a_x"),
        ({"mark_a_y": "-1"}, "mark_a_y"),
        ({"mark_b_x": "120"}, "mark_b_x"),
        ({"marks_mm": "0"}, "marks_mm"),
        ({"mark_b_x": "300", "marks_mm": "3000"}, "marks_mm"),
        ({"photo": ""}, "marks_mm"),
        ({"photo": "0" * 64}, "photo"),
        ({"photo": "../../secret_key"}, "photo"),
    ],
)
def test_marks_that_make_no_scale_are_refused_beside_their_field(
    owner_client, leather_lot, read_here, changes, field
):
    digest = photo_take(upload(picture()))
    data = {**hide_data(**SHEET, photo=digest, **MARKS), **changes}
    page = owner_client.post(reverse("hide-new", args=[leather_lot.pk]), data)
    assert field in page.context["entry"].form.errors
    assert not Hide.objects.exists()


PLACE = {"x_mm": "100", "y_mm": "200", "thickness_mm": "1.05"}


@pytest.mark.django_db
def test_thickness_by_place_is_kept_shown_and_refused_beside_the_hide(owner_client, leather_lot):
    address = reverse("hide-new", args=[leather_lot.pk])
    for changes, field in (
        ({"thickness_mm": ""}, "thickness_mm"),
        ({"thickness_mm": "9"}, "thickness_mm"),
        ({"x_mm": "700"}, "x_mm"),
        ({"x_mm": "NaN"}, "x_mm"),
    ):
        page = owner_client.post(address, hide_data(**SHEET, places=[{**PLACE, **changes}]))
        assert field in page.context["entry"].places[0].errors
    assert not Hide.objects.exists()
    owner_client.post(address, hide_data(**SHEET, places=[PLACE]))
    hide = Hide.objects.get()
    assert hide.thickness_places == [PLACE]
    page = owner_client.get(reverse("hide", args=[hide.pk])).content.decode()
    assert ">1.05</text>" in page


@pytest.mark.django_db
def test_an_areas_name_and_worth_are_kept_and_shown(owner_client, leather_lot):
    area = box("rectangle", "0", "0", "600", "100", name="belly", grade="2", worth_percent="55")
    faulty = {**area, "worth_percent": "101"}
    address = reverse("hide-new", args=[leather_lot.pk])
    page = owner_client.post(address, hide_data(**SHEET, areas=[faulty]))
    assert "worth_percent" in page.context["entry"].areas[0].errors
    owner_client.post(address, hide_data(**SHEET, areas=[area]))
    hide = Hide.objects.get()
    assert (hide.areas[0]["name"], hide.areas[0]["worth_percent"]) == ("belly", 55)
    page = owner_client.get(reverse("hide", args=[hide.pk])).content.decode()
    assert "worth 55 % of the best" in page
    entry = owner_client.get(reverse("hide-change", args=[hide.pk])).context["entry"]
    assert entry.areas[0]["worth_percent"].value() == "55"
