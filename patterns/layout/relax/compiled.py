"""The one place where functions are handed to the compiler."""

import hashlib
import re
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

_Function = TypeVar("_Function", bound=Callable[..., Any])


def _source_mark() -> str:
    """Return a short mark of this package's source, another whenever a line of it changes."""
    found = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        found.update(path.read_bytes())
    return found.hexdigest()[:12]


# The compiler asks only whether the file of a function itself has changed: one that is kept would
# go on with the old version of what it calls from another file. So each source has its folder.
_settings: Any = numba.config
_MARK = re.compile(r"[0-9a-f]{12}")
_KEPT_FOR_S = 30 * 24 * 3600  # another version may still be run beside this one
if _settings.CACHE_DIR:
    _settings.CACHE_DIR = str(Path(_settings.CACHE_DIR) / _source_mark())


def remove_outdated() -> None:
    """Remove what was compiled of other sources a month ago or longer."""
    if not _settings.CACHE_DIR:
        return
    own = Path(_settings.CACHE_DIR)
    for folder in own.parent.glob("*"):
        is_other = _MARK.fullmatch(folder.name) and folder.name != own.name
        if is_other and time.time() - folder.stat().st_mtime > _KEPT_FOR_S:
            shutil.rmtree(folder, ignore_errors=True)


def compiled(function: _Function) -> _Function:
    """Return the function compiled on its first call; the result is kept on disk.

    The folder is below the one ``NUMBA_CACHE_DIR`` names when this package is first imported.
    Compiled functions let other threads run, so that two searches use two cores.
    """
    return _compiled(function)


def compiled_borrowing(function: _Function) -> _Function:
    """Return the function compiled without counting the users of the arrays it is handed.

    Only for functions that make no array and keep none: the caller owns all of them. The counts
    are shared between cores, and took a fifth of the time of the innermost functions.
    """
    return _compiled(function, _nrt=False)


def _compiled(function: _Function, **more: Any) -> _Function:
    # Sums may be regrouped, which lets several corners be looked at at once; no NaN ever gets in.
    options: dict[str, Any] = {"fastmath": True, "error_model": "numpy", **more}
    return cast(_Function, numba.njit(cache=True, nogil=True, **options)(function))
