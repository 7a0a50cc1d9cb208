import tomllib

import numpy as np
import pytest

from patterns.drafting.edges import _joined
from patterns.drafting.regions import EdgeRun, _parted_once
from patterns.style_lines import EdgeRule, lines_from_table

GOOD = """
reach_mm = 40
curves = [{ name = "feather", field = "z", at = 1 }, { name = "line", field = "x", at = 9 }]
regions = [{ name = "vamp", signs = ["+feather", "+line"], when = ["whole"] }]
edges = [{ curve = "line", kind = "raw", signs = ["+feather"] }]
"""


def lines(text: str):
    return lines_from_table(tomllib.loads(text))


def test_one_piece_may_come_in_versions_that_exclude_each_other():
    other = '{ name = "vamp", signs = ["+feather"], when = ["not whole"] }'
    both = lines(GOOD.replace("regions = [", f"regions = [{other}, "))
    assert [region.name for region in both.regions] == ["vamp", "vamp"]


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("regions = [", 'regions = [{ name = "vamp", signs = ["+line"] }, ', "together"),
        ('"+line"]', '"line"]', "not \\+ or -"),
        ('signs = ["+feather"] }]', 'signs = ["+top"] }]', "not \\+ or -"),
        ('field = "x"', 'field = "w"', "not one of"),
        ("edges = [", 'features = [{ kind = "eylets" }]\nedges = [', "not one of"),
        ('kind = "raw"', 'kind = "glued"', "not one of"),
    ],
)
def test_a_faulty_style_file_says_where(old, new, word):
    assert old in GOOD
    with pytest.raises((ValueError, TypeError), match=word):
        lines(GOOD.replace(old, new))


def test_an_edge_is_parted_where_a_curve_crosses_it():
    run = EdgeRun("centre", "", (0, 1, 2, 3, 4))
    values = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    low, high = _parted_once(run, "zip end", values)
    assert (low.point_ids, high.point_ids) == ((0, 1, 2), (2, 3, 4))
    assert (low.above, high.above) == ({"zip end": False}, {"zip end": True})


def test_runs_of_one_rule_become_one_edge_again():
    run = EdgeRun("centre", "", (0, 1, 2, 3, 4))
    low, high = _parted_once(run, "zip end", np.array([-2.0, -1.0, 0.0, 1.0, 2.0]))
    seam = lines(GOOD).edges[0]
    assert [r.point_ids for r, _ in _joined([(low, seam), (high, seam)])] == [(0, 1, 2, 3, 4)]
    other = EdgeRule("centre", "zip edge", "raw", seam.allowance_mm)
    assert len(_joined([(low, seam), (high, other)])) == 2
