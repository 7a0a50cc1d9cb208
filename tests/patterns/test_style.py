import pytest

from patterns.errors import StyleError
from patterns.formula import Formula
from patterns.measures import SAMPLE_RATIOS
from patterns.style import load_style, style_from_toml, style_names

GOOD = b"""label = "L"
description = "D"
method = "projection"
[[parameters]]
key = "gap_mm"
label = "Gap"
kind = "length"
default = 2
least = 1
most = 3
help = "H."
"""


def test_every_style_file_reads_and_every_default_is_within_its_range():
    for name in style_names():
        style = load_style(name)
        for length in (25.0, 75.0, 160.0):
            landmarks = {key: ratio * length for key, ratio in SAMPLE_RATIOS.items()}
            for key, value in style.resolved({}, landmarks).items():
                style.parameter(key).read(value)


def test_a_style_is_known_by_the_hash_of_its_file():
    assert load_style("lace-up-ankle-boot").sha256 == load_style("lace-up-ankle-boot").sha256
    assert style_from_toml("a", GOOD).sha256 != style_from_toml("a", GOOD + b"\n").sha256


def test_defaults_that_follow_the_foot_wait_for_it():
    style = load_style("lace-up-ankle-boot")
    assert "boot_height_mm" not in style.values()
    small = style.resolved({}, {"foot_length": 30.0, "ankle_height": 16.5, "heel_raise": 0.0})
    large = style.resolved({}, {"foot_length": 75.0, "ankle_height": 41.25, "heel_raise": 6.0})
    assert small["lasting_margin_mm"] == pytest.approx(6.0)
    assert (large["lasting_margin_mm"], large["boot_height_mm"]) == (15.0, 53.625)
    assert (small["heel_height_mm"], large["heel_height_mm"]) == (0.0, 6.0)


def test_a_formula_is_a_number_plus_factors_times_landmarks():
    formula = Formula(1.0, (("a", 2.0), ("b", -1.0)), at_least=0.0, at_most=9.0)
    assert formula.value({"a": 3.0, "b": 1.0}) == 6.0
    assert formula.value({"a": 30.0, "b": 1.0}) == 9.0
    assert formula.value({"a": 0.0, "b": 5.0}) == 0.0


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("lace_gap_mm", "nan"),
        ("lace_gap_mm", "inf"),
        ("lace_gap_mm", "wide"),
        ("lace_gap_mm", True),
        ("lace_gap_mm", -1),
        ("toe_line_pct", 90),
        ("eyelet_count", 2.5),
        ("lining", "perhaps"),
    ],
)
def test_a_value_out_of_kind_or_range_is_refused_by_its_key(key, value):
    with pytest.raises(StyleError) as caught:
        load_style("lace-up-ankle-boot").values({key: value})
    assert caught.value.field == f"parameters.{key}"


def test_an_unknown_style_and_an_unknown_key_are_refused():
    with pytest.raises(StyleError, match="no style"):
        load_style("../secret")
    with pytest.raises(StyleError, match="no parameter"):
        load_style("lace-up-ankle-boot").values({"heel": 1})


def test_words_for_yes_and_no_are_read():
    style = load_style("lace-up-ankle-boot")
    assert style.values({"lining": "no"})["lining"] is False
    assert style.values({"lining": "Yes"})["lining"] is True


@pytest.mark.parametrize(
    "content",
    [
        b"label = ",
        GOOD.replace(b'label = "L"\n', b""),
        GOOD.replace(b"gap_mm", b"gap"),
        GOOD.replace(b'"length"', b'"colour"'),
        GOOD.replace(b"default = 2", b"default = 5"),
        GOOD + GOOD[GOOD.index(b"[[") :],
    ],
)
def test_a_faulty_style_file_is_refused(content):
    with pytest.raises(StyleError):
        style_from_toml("faulty", content)
