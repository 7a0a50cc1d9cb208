"""Faults of the disk and the database that somebody on the spot can mend, told apart from ours.

A full disk, one that may only be read and a database that does not answer are no faults of the
code: the page says what to do. Whatever was being written is undone by its transaction.

Sources: sqlite.org/rescode.html (result codes), PostgreSQL, Appendix A (error codes), errno(3).
"""

import errno
import sqlite3
from collections.abc import Iterator

import psycopg

FULL, READ_ONLY, AWAY, BUSY = "full", "read only", "away", "busy"

_OF_ERRNO = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
}
_PRIMARY_CODE = 0xFF  # the rest of an SQLite code says more exactly what of it
_OF_SQLITE = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_IOERR: FULL,  # a quota or a limit of the file's size is told as this
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: AWAY,
    sqlite3.SQLITE_BUSY: BUSY,
    sqlite3.SQLITE_LOCKED: BUSY,
}
_OF_SQLSTATE = {"53100": FULL, "25006": READ_ONLY, "53300": BUSY, "55P03": BUSY, "40P01": BUSY}
_AWAY_CLASSES = ("08", "57")  # connection exceptions; the server is stopping or starting


def disk_fault(error: BaseException | None) -> str | None:
    """Return what is wrong with disk or database, None for a fault of another kind."""
    for one in _causes(error):
        found = _of(one)
        if found is not None:
            return found
    return None


def _of(error: BaseException) -> str | None:
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", None)
        return None if code is None else _OF_SQLITE.get(code & _PRIMARY_CODE)
    if isinstance(error, OSError):
        return _OF_ERRNO.get(error.errno or 0)
    state = getattr(error, "sqlstate", None)
    if isinstance(state, str):
        return AWAY if state.startswith(_AWAY_CLASSES) else _OF_SQLSTATE.get(state)
    # The driver's own error, before any server has said a word, carries no state.
    if isinstance(error, psycopg.OperationalError):
        return AWAY
    return None


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    """Yield an error and those it came from; Django wraps the database's own."""
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        error = error.__cause__ or error.__context__
