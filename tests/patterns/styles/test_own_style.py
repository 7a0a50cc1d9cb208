from patterns.drafting import draft_pieces
from patterns.style import style_from_toml
from tests.patterns.samples_feet import sample_foot

CLOG = b"""
label = "Clog"
description = "One vamp over the forefoot, open at the back."
method = "surface"
shares = ["making"]
reach_mm = "ankle_height"
curves = [
  { name = "feather", field = "above_sole", at = "feather_mm" },
  { name = "rim", field = "x", over = "drop", through = [
    [0, "throat_mm"], [20, { times = { throat_mm = 1, foot_length = -0.12 } }] ] },
  { name = "lining rim", like = "rim", shift_mm = "lining_trim_mm" },
]
regions = [
  { name = "vamp", signs = ["+feather", "+rim"] },
  { name = "vamp lining", signs = ["+feather", "+lining rim"], layer = "lining", when = [
    "lining"], material = "lining" },
]
edges = [
  { curve = "feather", name = "lasting", kind = "lasting", allowance_mm = "lasting_margin_mm" },
  { curve = "rim", kind = "hem", allowance_mm = "seam_mm", stitched = true },
  { curve = "lining rim", name = "rim", kind = "raw" },
]
features = [{ kind = "bottom" }, { kind = "loop", name = "trim", length_mm = 20, width_mm = 4 }]
[[parameters]]
key = "throat_pct"
label = "Throat"
kind = "share"
default = 52
least = 45
most = 60
help = "Where the vamp ends on the instep."
"""


def test_a_style_of_ones_own_is_thirty_lines_of_data():
    assert len(CLOG.strip().splitlines()) <= 30
    clog = style_from_toml("clog", CLOG)
    drafted = draft_pieces(sample_foot(), clog, clog.values({"throat_pct": 50}))
    assert {piece.name for piece in drafted.pieces} == {
        "vamp", "vamp lining", "insole", "filler", "sock lining", "outsole", "trim"}  # fmt: skip
    vamp = drafted.piece("vamp")
    assert [edge.kind for edge in vamp.edges if edge.name == "lasting"] == ["lasting"]
    assert vamp.checks.flips == 0
    assert not [m for m in drafted.messages if m.level == "stop"]


def test_a_style_of_ones_own_keeps_its_flags():
    clog = style_from_toml("clog", CLOG)
    bare = draft_pieces(sample_foot(), clog, {"lining": False, "filler": False})
    assert {piece.name for piece in bare.pieces} == {
        "vamp", "insole", "sock lining", "outsole", "trim"}  # fmt: skip
