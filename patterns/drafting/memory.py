"""The latest results of the heavy steps, so that a redraw works out only what has changed."""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Iterable
from threading import Lock
from typing import Generic, TypeVar

import numpy as np

Result = TypeVar("Result")


class Memory(Generic[Result]):
    """Results by what they were made from; the one longest unused goes when it is full.

    Results must not be changed by those who get them. Safe between threads: two that ask for the
    same at once may both work it out.
    """

    def __init__(self, size: int) -> None:
        self._size = size
        self._kept: OrderedDict[bytes, Result] = OrderedDict()
        self._lock = Lock()

    def get(self, key: bytes, make: Callable[[], Result]) -> Result:
        """Return the result of a key, made now if it is not there."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        result = make()
        with self._lock:
            self._kept[key] = result
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)
        return result

    def forget(self) -> None:
        """Drop everything, as for measuring how long it takes afresh."""
        with self._lock:
            self._kept.clear()


def key_of(parts: Iterable[object]) -> bytes:
    """Return a key for arrays and plain values: equal for equal contents.

    >>> key_of([np.arange(3), "a"]) == key_of([np.arange(3), "a"])
    True
    """
    digest = hashlib.blake2b(digest_size=20)
    for part in parts:
        if isinstance(part, np.ndarray):
            digest.update(str((part.dtype.str, part.shape)).encode())
            digest.update(np.ascontiguousarray(part).tobytes())
        else:
            digest.update(repr(part).encode())
        digest.update(b"\x00")
    return digest.digest()
