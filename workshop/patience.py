"""How long a draft may take before it says on what it gave up."""

import time
from collections.abc import Callable

from patterns.errors import PatternError

DRAFT_SECONDS = 20.0


class Patience:
    """Called before each step of a draft; raises when the time is up.

    ``told`` is called with how many steps are done, where somebody watches.

    Raises
    ------
    PatternError
        Code ``gave-up``; the text names the step at which the time was up.
    """

    def __init__(
        self, seconds: float = DRAFT_SECONDS, *, told: Callable[[int], None] | None = None
    ) -> None:
        self._seconds = seconds
        self._told = told
        self._done = 0
        self._until = time.monotonic() + seconds

    def __call__(self, step: str) -> None:
        """Take note that a step begins."""
        if self._told is not None:
            self._told(self._done)
        self._done += 1
        if time.monotonic() > self._until:
            text = (
                f"Gave up after {self._seconds:g} seconds, at {step}. Thin out the mesh, or check"
                " the measures and parameters for one that is out of proportion."
            )
            raise PatternError(text, field="foot", code="gave-up", step=step)
