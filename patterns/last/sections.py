"""Closed sections as pairs of superellipse halves, their points at even steps round them."""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

LEAST_POWER = 1.46
DRAWN_IN = 1.25  # how much a section is drawn in per unit of power below 2


def section_rings(
    half_width: FloatArray,
    height: FloatArray,
    widest_share: FloatArray,
    lower_power: FloatArray,
    upper_power: FloatArray,
    ridge_shift: FloatArray,
    turns: int,
    samples: int = 61,
) -> tuple[FloatArray, FloatArray]:
    """Return points round many sections at once.

    Each section is widest at a share of its height. Below and above lie halves of
    superellipses |y/a|^n + |e/b|^n = 1, or drawn-in ellipses where the power is less than 2; the
    top is moved sideways by the ridge's shift, growing
    with the square of the height above the widest place so that no corner comes about there.

    Parameters
    ----------
    half_width, height, widest_share, lower_power, upper_power, ridge_shift : shape (sections,)
        Powers are those of the superellipse: 2 an ellipse, more a squarer shape, less a
        slimmer one; not below `LEAST_POWER`.
    turns : int
        Points round a section, a multiple of four: 0 lies at the bottom's middle, a quarter of
        the turns at the widest place on the +y side, half at the top.
    samples : int
        Places at which a quarter is worked out before even steps are laid off on it.

    Returns
    -------
    (array, array), each of shape (sections, turns)
        Sideways place y and rise e above the bottom, of each point.
    """
    quarter = turns // 4
    low_y, low_e = _unit_quarter(lower_power, samples)  # from the widest place down
    top_y, top_e = _unit_quarter(upper_power, samples)  # from the widest place up
    width = half_width[:, None]
    below, above = (widest_share * height)[:, None], ((1.0 - widest_share) * height)[:, None]
    ridge = ridge_shift[:, None]
    lower = _even(width * low_y[:, ::-1], below * (1.0 - low_e[:, ::-1]), quarter)
    outer = _even(width * top_y + ridge * top_e**2, below + above * top_e, quarter)
    inner = _even(-width * top_y + ridge * top_e**2, below + above * top_e, quarter)
    y = np.hstack([lower[0][:, :-1], outer[0][:, :-1], inner[0][:, :0:-1], -lower[0][:, :0:-1]])
    e = np.hstack([lower[1][:, :-1], outer[1][:, :-1], inner[1][:, :0:-1], lower[1][:, :0:-1]])
    return y, e


def _unit_quarter(power: FloatArray, samples: int) -> tuple[FloatArray, FloatArray]:
    """Return quarters of unit sections, from the widest place (1, 0) to the end (0, 1).

    From power 2 up a superellipse at even angles. Below 2 a superellipse would come to a sharp
    ridge, so there an ellipse is drawn in by a share that grows with the square of the height,
    which keeps the end round and the side hollow nowhere down to `LEAST_POWER`.
    """
    angle = np.linspace(0.0, np.pi / 2, samples)
    cos, sin = np.cos(angle), np.sin(angle)
    cos[-1] = 0.0
    n = np.maximum(power, 2.0)[:, None]
    reach = (cos**n + sin**n) ** (-1.0 / n)
    drawn_in = DRAWN_IN * np.maximum(2.0 - power, 0.0)[:, None]
    return cos * reach * (1.0 - drawn_in * (sin * reach) ** 2), sin * reach


def _even(y: FloatArray, e: FloatArray, steps: int) -> tuple[FloatArray, FloatArray]:
    """Return runs of points laid off at even steps along each row's own length."""
    rows = len(y)
    step = np.hypot(np.diff(y, axis=1), np.diff(e, axis=1))
    along = np.concatenate([np.zeros((rows, 1)), np.cumsum(step, axis=1)], axis=1)
    whole = np.where(along[:, -1:] > 0, along[:, -1:], 1.0)
    offset = 2.0 * np.arange(rows)[:, None]  # keeps the rows apart in one long rising run
    places = (along / whole + offset).ravel()
    asked = (np.linspace(0.0, 1.0, steps + 1)[None, :] + offset).ravel()
    shape = (rows, steps + 1)
    return (
        np.interp(asked, places, y.ravel()).reshape(shape),
        np.interp(asked, places, e.ravel()).reshape(shape),
    )
