"""What can be wrong with a file somebody hands in: a code, where, and the figures.

No Django here: the reader's child process makes these, the pages put them into words.
"""

from typing import Any

FAULTS_SHOWN = 50
Fault = dict[str, Any]


class FaultyFileError(ValueError):
    """One or more faults of a file; nothing of the file is used.

    Parameters
    ----------
    faults : list of dict
        Each as `fault` makes it.
    """

    def __init__(self, faults: list[dict[str, Any]]) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = faults


def fault(problem: str, where: tuple[str, int] | None = None, /, **figures: object) -> Fault:
    """Return one fault: `where` is ("line", 12), or ("feet", 4) for the fourth of a list."""
    return {"code": problem, "where": list(where) if where else None, "figures": figures}
