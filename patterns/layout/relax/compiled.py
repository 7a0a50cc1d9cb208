"""The one place where functions are handed to the compiler."""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

_Function = TypeVar("_Function", bound=Callable[..., Any])


def compiled(function: _Function) -> _Function:
    """Return the function compiled on its first call; the result is kept on disk.

    The folder is the one named by ``NUMBA_CACHE_DIR`` when this package is first imported.
    Compiled functions let other threads run, so that two searches use two cores.
    """
    # Sums may be regrouped, which lets several corners be looked at at once; no NaN ever gets in.
    keep = numba.njit(cache=True, nogil=True, fastmath=True, error_model="numpy")
    return cast(_Function, keep(function))
