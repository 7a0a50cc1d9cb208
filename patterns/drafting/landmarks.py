"""The numbers a style's formulas may name: measures, parameters, and what follows from them."""

from collections.abc import Mapping
from math import radians, tan

import numpy as np

from patterns.last.last import Last
from patterns.style import Value

ANKLE_X_SHARE = 0.215  # of foot length: where the ankle stands before there is a last to look at


def landmarks_of(
    measures_mm: Mapping[str, float], values: Mapping[str, Value], last: Last | None = None
) -> dict[str, float]:
    """Return every number that a formula of a style may name.

    Measures and parameters go by their keys. An angle ``a_deg`` is also there as its slope
    ``a_tan``, a share of the foot's length ``b_pct`` also as the length ``b_mm`` and, once there
    is a last, as ``b_ridge_mm``, the height of the middle of the top at that place. Besides:
    ``ankle_x`` and ``shaft_x`` the middle of the leg at the ankle and at the top,
    ``boot_rise_mm`` how much a tilted topline rises over its middle, ``toe_length_mm`` from the
    toe line to the tip of the toe, and ``topline_turned_mm`` and ``tongue_turned_mm``, the folds
    small feet do without.
    """
    length = measures_mm["foot_length"]
    found = {key: float(value) for key, value in measures_mm.items()}
    found |= {key: float(value) for key, value in values.items()}
    for key, value in values.items():
        if key.endswith("_deg"):
            found[f"{key[:-4]}_tan"] = tan(radians(float(value)))
        elif key.endswith("_pct"):
            found.setdefault(f"{key[:-4]}_mm", float(value) / 100.0 * length)
    found["ankle_x"] = found["shaft_x"] = ANKLE_X_SHARE * length
    if last is not None:
        found |= _ridge_heights(values, last)
        for name, station in (("ankle_x", last.ankle_station), ("shaft_x", -1)):
            section = last.grid_mm[station, :, 0]
            found[name] = float(section.min() + section.max()) / 2.0
    found["boot_rise_mm"] = abs(found.get("topline_tilt_tan", 0.0)) * measures_mm["ankle_girth"] / 4
    found["toe_length_mm"] = length - found.get("toe_line_mm", length)
    turned = length >= found.get("hem_least_foot_mm", 0.0)
    for name in ("topline", "tongue"):
        found[f"{name}_turned_mm"] = found.get(f"{name}_hem_mm", 0.0) if turned else 0.0
    return found


def _ridge_heights(values: Mapping[str, Value], last: Last) -> dict[str, float]:
    """Return how high the middle of the top lies at every share of the foot's length."""
    ridge = last.grid_mm[: last.ankle_station + 1, last.turn_count // 2]
    order = np.argsort(ridge[:, 0], kind="stable")
    return {
        f"{key[:-4]}_ridge_mm": float(
            np.interp(float(value) / 100.0 * last.foot_length_mm, ridge[order, 0], ridge[order, 2])
        )
        for key, value in values.items()
        if key.endswith("_pct")
    }
