import copy
import json
import math

import pytest

from patterns.errors import PatternError
from patterns.exchange.layout_file import document_from_layout, request_from_document
from patterns.layout import Layout, Placement
from tests.samples_layouts import instance_of, rectangle, ring_round, sample_document

KEYS = [
    "placements",
    "placed",
    "requested",
    "complete_sets",
    "used_area_mm2",
    "usable_area_mm2",
    "density",
    "seed",
    "steps",
]


def small_document() -> dict:
    return {
        "containers": [
            {
                "id": "H-0001",
                "outer": [list(point) for point in rectangle(100, 80)],
                "holes": [[list(point) for point in rectangle(5, 5, 50, 50)]],
                "areas": [{"grade": 2, "outer": [list(point) for point in rectangle(9, 9)]}],
                "cost": "12.50",
            }
        ],
        "pieces": [
            {
                "id": "toe box",
                "outer": [list(point) for point in rectangle(20, 10)],
                "quantity": 4,
                "allowed_rotations": [0, 180],
                "rotation_tolerance_deg": 5,
                "mirrored_quantity": 2,
                "set": "pair",
                "per_set": 2,
                "per_set_mirrored": 1,
                "grade": 1,
            }
        ],
        "fixed": [{"id": "toe box", "container": "H-0001", "x": 1, "y": 1.5, "rotation_deg": 0}],
        "spacing_mm": 2.0,
        "edge_spacing_mm": 0.5,
        "a note": "is passed over",
    }


def test_a_file_is_read_whole():
    request = request_from_document(small_document())
    (hide,), (piece,), (fixed,) = request.hides, request.pieces, request.fixed
    assert (hide.id, str(hide.cost), len(hide.defects_mm)) == ("H-0001", "12.50", 1)
    assert hide.areas[0].grade == 2
    assert (piece.quantity, piece.mirrored_quantity) == (4, 2)
    assert (piece.per_set, piece.per_set_mirrored, piece.grade) == (2, 1, 1)
    assert piece.allowed_rotations_deg == (0.0, 180.0)
    assert fixed == Placement("toe box", "H-0001", 1.0, 1.5, 0.0, False)
    assert (request.spacing_mm, request.edge_spacing_mm) == (2.0, 0.5)


def test_a_single_container_is_the_same_as_a_list_of_one():
    document = small_document()
    single = {**document, "container": document["containers"][0]}
    del single["containers"]
    assert request_from_document(single) == request_from_document(document)
    del single["container"]["id"], single["fixed"]
    assert request_from_document(single).hides[0].id == "hide"


def test_a_fixed_placement_need_not_name_the_only_hide():
    document = small_document()
    del document["fixed"][0]["container"]
    assert request_from_document(document).fixed[0].container == "H-0001"


def test_a_ring_closed_by_its_first_point_is_opened():
    document = small_document()
    document["pieces"][0]["outer"].append(document["pieces"][0]["outer"][0])
    assert len(request_from_document(document).pieces[0].outline_mm) == 4


def test_a_request_written_out_and_read_again_is_the_same():
    document = small_document()
    request = request_from_document(document)
    again = instance_of(request)
    again["containers"][0]["cost"] = "12.50"
    assert request_from_document(again) == request


@pytest.mark.parametrize("key", ["holes", "areas"])
def test_what_lies_beside_its_hide_is_refused_by_its_place(key):
    document = small_document()
    beside = [list(point) for point in rectangle(5, 5, 500, 50)]
    if key == "holes":
        document["containers"][0]["holes"].append(beside)
    else:
        document["containers"][0]["areas"].append({"grade": 2, "outer": beside})
    with pytest.raises(PatternError, match="beside hide H-0001") as refused:
        request_from_document(document)
    assert refused.value.field.startswith(f"containers.0.{key}[1]")


def test_sample_files_are_read():
    request = request_from_document(sample_document("free_420x330"))
    assert all(piece.allowed_rotations_deg is None for piece in request.pieces)
    assert sum(piece.quantity for piece in request.pieces) == 46


def test_a_layout_is_written_with_just_its_keys():
    row = Placement("toe box", "H-0001", 1.0, 2.5, 180.0, True)
    layout = Layout((row,), 1, 4, 0, 200.0, 8000.0, 7, 20)
    document = document_from_layout(layout)
    assert list(document) == KEYS
    assert document["density"] == 0.025
    assert document["placements"] == [
        {
            "id": "toe box",
            "container": "H-0001",
            "x": 1.0,
            "y": 2.5,
            "rotation_deg": 180.0,
            "mirrored": True,
        }
    ]
    assert json.loads(json.dumps(document)) == document


CROSSED = [[0, 0], [10, 10], [10, 0], [0, 10]]
MANY = [list(point) for point in ring_round([40.0] * 5001, 50, 40)]


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("spacing_mm", -1, "spacing_mm"),
        ("spacing_mm", math.nan, "spacing_mm"),
        ("spacing_mm", 1e9, "spacing_mm"),
        ("spacing_mm", "2", "spacing_mm"),
        ("spacing_mm", True, "spacing_mm"),
        ("edge_spacing_mm", math.inf, "edge_spacing_mm"),
        ("edge_spacing_mm", 101, "edge_spacing_mm"),
        ("containers", [], "containers"),
        ("containers", None, "containers"),
        ("containers", {}, "containers"),
        ("containers.0", 7, "containers.0"),
        ("containers.0.id", None, "containers.0.id"),
        ("containers.0.id", "", "containers.0.id"),
        ("containers.0.outer", CROSSED, "containers.0.outer"),
        ("containers.0.outer", [[0, 0], [1, 1]], "containers.0.outer"),
        ("containers.0.outer", MANY, "containers.0.outer"),
        ("containers.0.outer", [[0, 0], [3100, 0], [0, 10]], "containers.0.outer"),
        ("containers.0.outer.1", [math.nan, 0], "containers.0.outer.1"),
        ("containers.0.outer.1", [1e9, 0], "containers.0.outer.1"),
        ("containers.0.outer.1", [1, 2, 3], "containers.0.outer.1"),
        ("containers.0.outer.1", "ab", "containers.0.outer.1"),
        ("containers.0.holes", [CROSSED[:3]] * 201, "containers.0.holes"),
        ("containers.0.holes.0", CROSSED, "containers.0.holes.0"),
        ("containers.0.areas.0.grade", 0, "containers.0.areas.0.grade"),
        ("containers.0.areas.0.grade", 1.5, "containers.0.areas.0.grade"),
        ("containers.0.areas.0.outer", CROSSED, "containers.0.areas.0.outer"),
        ("containers.0.cost", "-3", "containers.0.cost"),
        ("containers.0.cost", "NaN", "containers.0.cost"),
        ("containers.0.cost", "dear", "containers.0.cost"),
        ("containers.0.cost", [], "containers.0.cost"),
        ("containers.0.colour", "red", "containers.0.colour"),
        ("pieces", [], "pieces"),
        ("pieces", 3, "pieces"),
        ("pieces.0.id", 5, "pieces.0.id"),
        ("pieces.0.outer", CROSSED, "pieces.0.outer"),
        ("pieces.0.outer", MANY, "pieces.0.outer"),
        ("pieces.0.outer", [[0, 0], [5, 5], [10, 10]], "pieces.0.outer"),
        ("pieces.0.quantity", 0, "pieces.0.quantity"),
        ("pieces.0.quantity", 401, "pieces.0.quantity"),
        ("pieces.0.quantity", 2.0, "pieces.0.quantity"),
        ("pieces.0.quantity", True, "pieces.0.quantity"),
        ("pieces.0.quantity", None, "pieces.0.quantity"),
        ("pieces.0.mirrored_quantity", 5, "pieces.0.mirrored_quantity"),
        ("pieces.0.mirror_free", "yes", "pieces.0.mirror_free"),
        ("pieces.0.allowed_rotations", "any", "pieces.0.allowed_rotations"),
        ("pieces.0.allowed_rotations", [], "pieces.0.allowed_rotations"),
        ("pieces.0.allowed_rotations", [0, 400], "pieces.0.allowed_rotations.1"),
        ("pieces.0.allowed_rotations", [math.inf], "pieces.0.allowed_rotations.0"),
        ("pieces.0.rotation_tolerance_deg", -1, "pieces.0.rotation_tolerance_deg"),
        ("pieces.0.rotation_tolerance_deg", 181, "pieces.0.rotation_tolerance_deg"),
        ("pieces.0.set", 4, "pieces.0.set"),
        ("pieces.0.per_set", -1, "pieces.0.per_set"),
        ("pieces.0.per_set_mirrored", 3, "pieces.0.per_set_mirrored"),
        ("pieces.0.grade", 0, "pieces.0.grade"),
        ("pieces.0.quantitty", 3, "pieces.0.quantitty"),
        ("fixed.0.id", "heel", "fixed.0.id"),
        ("fixed.0.container", "H-0002", "fixed.0.container"),
        ("fixed.0.x", None, "fixed.0.x"),
        ("fixed.0.y", 1e9, "fixed.0.y"),
        ("fixed.0.rotation_deg", 1e5, "fixed.0.rotation_deg"),
        ("fixed.0.mirrored", 1, "fixed.0.mirrored"),
        ("container", {}, "container"),
    ],
)
def test_a_bad_value_is_refused_by_its_place(path, value, field):
    document = copy.deepcopy(small_document())
    spot: object = document
    *steps, last = [int(step) if step.isdigit() else step for step in path.split(".")]
    for step in steps:
        spot = spot[step]
    spot[last] = value
    with pytest.raises(PatternError) as caught:
        request_from_document(document)
    assert caught.value.field == field
    assert caught.value.code
    assert "\n" not in caught.value.text


def test_too_much_at_once_is_refused():
    document = small_document()
    row = document["pieces"][0]
    document["pieces"] = [{**row, "id": f"piece {n}", "quantity": 201} for n in range(2)]
    with pytest.raises(PatternError) as caught:
        request_from_document(document)
    assert (caught.value.field, caught.value.code) == ("pieces", "too_many")
    hide = document["containers"][0]
    document["containers"] = [{**hide, "id": f"H-{n}"} for n in range(21)]
    with pytest.raises(PatternError) as caught:
        request_from_document(document)
    assert caught.value.field == "containers"


@pytest.mark.parametrize("key", ["containers", "pieces"])
def test_a_name_used_twice_is_refused(key):
    document = small_document()
    document[key] = document[key] * 2
    with pytest.raises(PatternError) as caught:
        request_from_document(document)
    assert (caught.value.field, caught.value.code) == (f"{key}.1.id", "name_used_twice")
