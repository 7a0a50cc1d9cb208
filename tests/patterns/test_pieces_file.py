import copy
import json
import re

import pytest
from samples_feet import drafted

from patterns.errors import FileError
from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document

TOP = ["style", "foot", "foot_side", "unit", "engine", "parameters", "source", "girth_closure",
       "lasting", "seams", "messages", "pieces"]  # fmt: skip
PIECE = ["name", "quantity", "mirrored_quantity", "mirror_free", "material", "net", "cut",
         "tight_way_deg", "rotation_tolerance_deg", "face_up", "edges", "holes", "notches", "lines",
         "checks", "mesh", "mesh_edges"]  # fmt: skip


def test_the_document_has_exactly_the_keys_of_the_schema_in_order():
    document = document_from_pieces(drafted("measures"))
    assert list(document) == TOP
    for piece in document["pieces"]:
        assert [key for key in piece if key != "grade"] == PIECE
    assert list(document["seams"][0]) == [
        "a", "b", "length_a_mm", "length_b_mm", "mismatch_mm", "drift_mm",
    ]  # fmt: skip
    assert all(p["checks"] is None and p["mesh"] is None for p in document["pieces"])


@pytest.mark.parametrize("kind", ["measures", "mesh", "tracing"])
def test_pieces_come_back_from_their_own_document(kind):
    document = json.loads(json.dumps(document_from_pieces(drafted(kind)), allow_nan=False))
    again = pieces_from_document(document)
    assert document_from_pieces(again) == document
    assert [p.name for p in again.pieces] == [p.name for p in drafted(kind).pieces]


def test_numbers_are_rounded_to_four_decimals_without_negative_zero():
    text = json.dumps(document_from_pieces(drafted("measures")))
    assert "-0.0," not in text
    assert "-0.0]" not in text
    decimals = [len(digits) for digits in re.findall(r"\d\.(\d+)", text)]
    assert max(decimals) == 4


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("unit",), "inch"),
        (("foot_side",), "both"),
        (("source", "kind"), "guess"),
        (("pieces", 0, "quantity"), 1.5),
        (("pieces", 0, "net"), [[0, 0]]),
        (("pieces", 0, "net", 0), [0, "x"]),
        (("pieces", 0, "material"), "felt"),
        (("pieces", 0, "edges", 0, "kind"), "glued"),
        (("seams", 0, "a"), "toe box"),
        (("lasting", 0, "margin_mm"), float("nan")),
        (("pieces",), {}),
    ],
)
def test_a_faulty_pieces_file_is_refused_with_its_place(path, value):
    document = copy.deepcopy(document_from_pieces(drafted("measures")))
    place = document
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(FileError) as caught:
        pieces_from_document(document)
    assert caught.value.field


def test_the_grade_a_piece_asks_for_comes_back_and_nonsense_is_refused():
    document = document_from_pieces(drafted("measures"))
    document["pieces"][0]["grade"] = 2
    assert pieces_from_document(document).pieces[0].grade == 2
    document["pieces"][0]["grade"] = "best"
    with pytest.raises(FileError) as caught:
        pieces_from_document(document)
    assert caught.value.field == "pieces.0.grade"
