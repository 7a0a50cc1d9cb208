"""The DXF of a piece set, read back."""

import os
import subprocess
import sys
from io import BytesIO, TextIOWrapper

import ezdxf
import pytest
from shapely.geometry import Polygon

from patterns.exchange.dxf import pieces_dxf
from patterns.exchange.outline_sheet import sheet_of_pieces
from tests.drawn_samples import boot, long_shaft


def read(data: bytes):
    return ezdxf.read(TextIOWrapper(BytesIO(data), encoding="utf-8"))


@pytest.fixture(scope="module")
def document():
    return read(pieces_dxf(boot(long_shaft())))


def test_audit_finds_no_errors(document):
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes


@pytest.mark.external
def test_file_says_millimetres(document):
    # Source: DXF Reference, HEADER section: $INSUNITS 4 = millimetres; AC1024 = release 2010.
    assert document.header["$INSUNITS"] == 4
    assert document.dxfversion == "AC1024"


def test_each_cut_outline_comes_back_closed_and_equal(document):
    rings = [e for e in document.modelspace().query("LWPOLYLINE") if e.dxf.layer == "CUT"]
    copies = sheet_of_pieces(boot(long_shaft())).pieces
    assert len(rings) == len(copies)
    for entity, laid in zip(rings, copies, strict=True):
        assert entity.closed
        read_back = [(x, y) for x, y, *_ in entity.get_points()]
        for point, wanted in zip(read_back, laid.turn.many(laid.piece.cut_mm), strict=True):
            assert point == pytest.approx(wanted, abs=1e-6)


def test_pieces_lie_clear_of_each_other(document):
    shapes = [
        Polygon([(x, y) for x, y, *_ in entity.get_points()])
        for entity in document.modelspace().query("LWPOLYLINE")
        if entity.dxf.layer == "CUT"
    ]
    for k, shape in enumerate(shapes):
        assert all(shape.distance(other) >= 10.0 for other in shapes[k + 1 :])


def test_names_and_holes_are_there(document):
    texts = {entity.dxf.text for entity in document.modelspace().query("TEXT")}
    assert {piece.name for piece in boot().pieces} <= texts
    # Four holes on either side, each side drawn and mirrored.
    assert len(document.modelspace().query("CIRCLE")) == 16


def test_same_pieces_give_the_same_bytes():
    assert pieces_dxf(boot()) == pieces_dxf(boot())


def test_the_bytes_are_the_same_in_every_process():
    program = (
        "import hashlib; from patterns.exchange.dxf import pieces_dxf;"
        "from tests.drawn_samples import boot, long_shaft;"
        "print(hashlib.sha256(pieces_dxf(boot(long_shaft()))).hexdigest())"
    )
    seeds = [os.environ | {"PYTHONHASHSEED": str(seed)} for seed in (1, 2, 3)]
    run = [sys.executable, "-c", program]
    hashes = {subprocess.run(run, env=e, capture_output=True, check=True).stdout for e in seeds}
    assert len(hashes) == 1


def test_a_hostile_name_stays_one_text():
    from dataclasses import replace

    piece = replace(boot().pieces[0], name="toe\n0\nSECTION ^J é Ж")
    document = read(pieces_dxf(replace(boot(), pieces=(piece,))))
    assert not document.audit().errors
    texts = [entity.dxf.text for entity in document.modelspace().query("TEXT")]
    assert "toe 0 SECTION J é Ж" in texts
