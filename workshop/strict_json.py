"""JSON read without surprises: size and depth bounded, no NaN, no doubled keys."""

import json
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

MAX_BYTES = 20 * 1024 * 1024
MAX_DEPTH = 60
# A string as a whole, even one cut off: brackets in it open nothing.
_STRINGS_AND_BRACKETS = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"?|[\[\]{}]', re.DOTALL)


class JsonError(ValueError):
    """A text is not JSON that may be read; the message says what and where."""


def read_json(text: bytes | str, *, decimals: bool = False) -> Any:
    """Return the value of a JSON text.

    Parameters
    ----------
    text : bytes or str
        The whole text, at most 20 MB.
    decimals : bool
        Read numbers with a point as Decimal, for money.

    Raises
    ------
    JsonError
        Not UTF-8, not JSON, cut off, nested too deep, a key twice, half of a letter,
        or NaN or Infinity.
    """
    if isinstance(text, str):
        text = text.encode("utf-8", "surrogatepass")
    if len(text) > MAX_BYTES:
        raise JsonError(f"the file holds {len(text)} bytes; at most {MAX_BYTES} are read")
    try:
        decoded = text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise JsonError(f"not UTF-8 text: byte {error.start} cannot be read") from None
    _refuse_depth(decoded)
    parse_float: Callable[[str], Any] = Decimal if decimals else float
    try:
        value = json.loads(
            decoded,
            parse_float=parse_float,
            parse_int=_bounded_int,
            parse_constant=_refuse_constant,
            object_pairs_hook=_object_without_doubles,
        )
    except json.JSONDecodeError as error:
        raise JsonError(
            f"not valid JSON at line {error.lineno}, column {error.colno}: {error.msg}"
        ) from None
    if "\\ud" in decoded.lower():
        _refuse_half_letters(value)
    return value


def read_json_object(text: bytes | str, *, decimals: bool = False) -> dict[str, Any]:
    """Return the object of a JSON text, as `read_json` does; anything else is an error."""
    value = read_json(text, decimals=decimals)
    if not isinstance(value, dict):
        raise JsonError("the file must hold one JSON object, written { ... }")
    return value


def write_json(document: Any, *, sort_keys: bool = False) -> bytes:
    """Return the canonical text of a document: same value, same bytes.

    A file keeps the order of its schema; with `sort_keys` the order of keys does not count, as
    for a digest of values that a database may have handed back in another order.
    """
    text = json.dumps(
        document,
        ensure_ascii=False,
        allow_nan=False,
        separators=(", ", ": "),
        sort_keys=sort_keys,
    )
    return (text + "\n").encode()


def _refuse_depth(text: str) -> None:
    # The parser recurses: a file of brackets would end the process before it ends the file.
    depth = 0
    for found in _STRINGS_AND_BRACKETS.finditer(text):
        token = found[0]
        if token in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                raise JsonError(f"nested deeper than {MAX_DEPTH} levels")
        elif token in "]}":
            depth -= 1


def _bounded_int(digits: str) -> int:
    if len(digits) > 30:
        raise JsonError(f"a number of {len(digits)} digits is too long")
    return int(digits)


def _refuse_half_letters(value: Any) -> None:
    # An escape such as "\\ud800" alone is no letter: no file, path or database takes it.
    if isinstance(value, str):
        if any("\ud800" <= letter <= "\udfff" for letter in value):
            raise JsonError("a text holds half of a letter, written \\ud800 to \\udfff")
    elif isinstance(value, dict):
        for key, inner in value.items():
            _refuse_half_letters(key)
            _refuse_half_letters(inner)
    elif isinstance(value, list):
        for inner in value:
            _refuse_half_letters(inner)


def _refuse_constant(name: str) -> float:
    raise JsonError(f"{name} is not a number that can be used")


def _object_without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key, value in pairs:
        if key in result:
            raise JsonError(f"the key '{key}' stands twice in one object")
        result[key] = value
    return result
