"""Feet the pattern tests share: the CC0 sample with and without its mesh, and a traced one."""

import json
from functools import cache
from pathlib import Path

from hypothesis import strategies as st

from patterns.exchange.foot_file import foot_from_document
from patterns.foot import Foot
from patterns.measures import SAMPLE_RATIOS
from patterns.pieces.piece import PieceSet
from patterns.projection import draft_pieces
from patterns.style import load_style

FEET = Path(__file__).resolve().parents[1] / "data" / "feet"
STYLE = load_style("lace-up-ankle-boot")


def document(name: str) -> dict:
    return json.loads((FEET / name).read_text(encoding="utf-8"))


def sample_measures() -> dict[str, float]:
    return dict(document("sample_foot.json")["measures"])


@cache
def sample_foot() -> Foot:
    return Foot("sample", sample_measures())


@cache
def mesh_foot() -> Foot:
    text = (FEET / "sample_foot.obj").read_text(encoding="utf-8")
    return foot_from_document(document("sample_foot.json"), mesh_text=text)


@cache
def traced_foot() -> Foot:
    return foot_from_document(document("tracing.json"))


@cache
def drafted(name: str) -> PieceSet:
    feet = {"measures": sample_foot, "mesh": mesh_foot, "tracing": traced_foot}
    return draft_pieces(feet[name](), STYLE, {})


def draft(measures: dict[str, float], **values: float | bool) -> PieceSet:
    return draft_pieces(Foot("foot", measures), STYLE, STYLE.values(values))


@st.composite
def plausible_measures(draw: st.DrawFn) -> dict[str, float]:
    """Feet of any length that can be drawn, each measure near proportion, some left out."""
    length = draw(st.floats(25, 160).map(lambda x: round(x, 2)))
    growth = draw(st.floats(0.9, 1.1))
    measures = {"foot_length": length}
    for key, ratio in SAMPLE_RATIOS.items():
        if key not in ("foot_length", "heel_raise") and draw(st.booleans()):
            measures[key] = round(ratio * length * growth * draw(st.floats(0.94, 1.06)), 2)
    if draw(st.integers(0, 3)) == 0:
        measures["heel_raise"] = round(draw(st.floats(0, 0.25)) * length, 2)
        for key in ("ankle_height", "calf_height", "instep_height"):
            measures.pop(key, None)
    return measures
