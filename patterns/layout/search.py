"""Laying out: tries made one after another until the steps or the time are used up."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from patterns.errors import LayoutError
from patterns.hide import Hide
from patterns.layout.check import layout_faults
from patterns.layout.relax.compiled import remove_outdated
from patterns.layout.relax.relaxer import CHAINS
from patterns.layout.table import Table
from patterns.layout.two_ways import TwoWays
from patterns.layout.values import Layout, LayoutPiece, LayoutProgress, LayoutRequest

DEFAULT_STEPS = 200
STEPS_MAX = 10_000_000
SECONDS_MAX = 3_600.0
SEED_MAX = 2**63 - 1


def lay_out(
    request: LayoutRequest,
    *,
    seed: int,
    steps: int | None = None,
    seconds: float | None = None,
    clock: Callable[[], float] | None = None,
    on_progress: Callable[[LayoutProgress], None] | None = None,
    is_cancelled: Callable[[], bool] | None = None,
) -> Layout:
    """Return the best layout found in so many steps or seconds, checked exactly.

    Parameters
    ----------
    request : LayoutRequest
        Hides, pieces, fixed placements and gaps.
    seed : int
        Start of the random numbers; the same request, seed and steps give the same layout.
    steps : int, optional
        Tries to make; 200 when neither steps nor seconds are given.
    seconds : float, optional
        Time to use, the set-up included; needs ``clock``. The first step is always finished.
    clock : callable, optional
        Gives the time in seconds, such as ``time.monotonic``; this package reads no clock itself.
    on_progress : callable, optional
        Called after every step with the best layout so far, which is always valid.
    is_cancelled : callable, optional
        Asked after every step; the search ends with the best so far once it answers True.

    Returns
    -------
    Layout
        Fixed placements first, as given. ``steps`` says how many steps were made; with every
        piece laid the search ends early once the cut has settled.

    Raises
    ------
    LayoutError
        Codes ``piece_too_large``, ``fixed_faulty``, ``out_of_range`` and ``no_clock``; also
        ``layout_faulty`` should the exact check ever find a fault, which is a mistake here.
    """
    started = clock() if clock is not None else 0.0
    _check_effort(seed, steps, seconds, clock)
    _check_fixed(request)
    limit = steps if steps is not None else (DEFAULT_STEPS if seconds is None else None)
    with ThreadPoolExecutor(max_workers=CHAINS) as executor:
        search = TwoWays(Table(request), seed, executor)
        while True:
            share = 0.0 if limit is None else search.step / limit
            if seconds is not None and clock is not None:
                share = max(share, (clock() - started) / seconds)
            if search.step and share >= 1.0:
                break
            search.advance(min(share, 1.0))
            if on_progress is not None:
                on_progress(LayoutProgress(search.step, min(share, 1.0), search.best_layout()))
            if search.settled() or (is_cancelled is not None and is_cancelled()):
                break
        return search.best_layout()


def warm_up() -> None:
    """Have the search compiled and read in, so that the next layout begins at once."""
    remove_outdated()
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    larger = tuple((2.5 * x, 2.5 * y) for x, y in square)
    # More than fits, so that the compiled part has something to do.
    request = LayoutRequest((Hide("warm-up", larger),), (LayoutPiece("square", square, 8),))
    lay_out(request, seed=0, steps=2)


def _check_effort(
    seed: int, steps: int | None, seconds: float | None, clock: Callable[[], float] | None
) -> None:
    limits = (
        ("seed", seed, 0, SEED_MAX),
        ("steps", steps, 1, STEPS_MAX),
        ("seconds", seconds, 0.001, SECONDS_MAX),
    )
    for field, value, least, most in limits:
        if value is not None and not least <= value <= most:
            raise LayoutError(
                f"{field} is {value:g}; it must be from {least:g} to {most:g}.",
                field=field,
                code="out_of_range",
                value=value,
                least=least,
                most=most,
            )
    if seconds is not None and clock is None:
        raise LayoutError(
            "A layout limited by seconds needs a clock.", field="clock", code="no_clock"
        )


def _check_fixed(request: LayoutRequest) -> None:
    faults = layout_faults(request, request.fixed)
    if faults:
        raise LayoutError(
            f"The fixed placements cannot stay: {faults[0]}. Move or release them.",
            field="fixed",
            code="fixed_faulty",
            faults=faults,
        )
