"""Style: a file of data that says what a kind of footwear is made of, and its reader."""

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from math import isfinite
from typing import Literal

from patterns.errors import StyleError
from patterns.formula import Formula, formula_from
from patterns.style_lines import Curve, StyleLines, lines_from_table

ParameterKind = Literal["length", "angle", "share", "count", "flag"]
Value = float | bool

UNITS: Mapping[ParameterKind, str] = {
    "length": "mm",
    "angle": "deg",
    "share": "pct",
    "count": "",
    "flag": "",
}
TRUE_WORDS = ("true", "yes", "on", "1")
FALSE_WORDS = ("false", "no", "off", "0")


@dataclass(frozen=True, slots=True)
class Parameter:
    """One thing a maker may set about a style."""

    key: str
    label: str
    kind: ParameterKind
    default: Value | Formula
    least: float
    most: float
    help_text: str

    @property
    def unit(self) -> str:
        """Return the unit printed beside the value, empty for counts and yes-or-no."""
        return UNITS[self.kind]

    def read(self, given: str | float | bool) -> Value:
        """Return a given value in the parameter's own kind.

        Raises
        ------
        StyleError
            Not of the kind, not finite, or outside least to most.
        """
        if self.kind == "flag":
            return self._flag(given)
        try:
            number = float(given)
        except (TypeError, ValueError):
            raise self._fault(f"{self.label} must be a number, not {str(given)[:40]!r}.") from None
        if isinstance(given, bool) or not isfinite(number):
            raise self._fault(f"{self.label} must be a finite number, not {given}.")
        if not self.least <= number <= self.most:
            raise self._fault(
                f"{self.label} is {number:g}; it must lie between {self.least:g} and"
                f" {self.most:g} {self.unit}".rstrip()
                + "."
            )
        if self.kind == "count" and number != int(number):
            raise self._fault(f"{self.label} is {number:g}; it must be a whole number.")
        return number

    def _flag(self, given: str | float | bool) -> bool:
        word = str(given).strip().lower()
        if word in TRUE_WORDS or given is True:
            return True
        if word in FALSE_WORDS or given is False:
            return False
        raise self._fault(f"{self.label} must be yes or no, not {str(given)[:40]!r}.")

    def _fault(self, text: str) -> StyleError:
        return StyleError(
            text,
            field=f"parameters.{self.key}",
            code="parameter-range",
            key=self.key,
            least=self.least,
            most=self.most,
        )


@dataclass(frozen=True, slots=True)
class Style:
    """A style as its file tells it; `sha256` is the hash of that file and all it shares."""

    name: str
    label: str
    description: str
    method: str
    parameters: tuple[Parameter, ...]
    sha256: str
    lines: StyleLines | None = None

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Return the curves a correction may move, with their labels; none for a drawn style."""
        if self.lines is None:
            return ()
        return tuple(curve for curve in self.lines.curves if not curve.like)

    def parameter(self, key: str) -> Parameter:
        """Return a parameter by its key, or raise StyleError listing the keys."""
        for parameter in self.parameters:
            if parameter.key == key:
                return parameter
        keys = ", ".join(parameter.key for parameter in self.parameters)
        text = f'Style "{self.name}" has no parameter "{key[:60]}"; it has {keys}.'
        raise StyleError(text, field=f"parameters.{key[:60]}", code="parameter-unknown", key=key)

    def values(self, overrides: Mapping[str, str | float | bool] | None = None) -> dict[str, Value]:
        """Return the values to draft with: what was asked for, and fixed defaults for the rest.

        Defaults that follow the foot are left out; `resolved` adds them once the foot is known.

        Raises
        ------
        StyleError
            A key the style does not have, or a value outside its range.
        """
        asked = dict(overrides or {})
        for key in asked:
            self.parameter(key)
        values: dict[str, Value] = {}
        for parameter in self.parameters:
            if parameter.key in asked:
                values[parameter.key] = parameter.read(asked[parameter.key])
            elif not isinstance(parameter.default, Formula):
                values[parameter.key] = parameter.default
        return values

    def resolved(
        self, values: Mapping[str, str | float | bool], landmarks: Mapping[str, float]
    ) -> dict[str, Value]:
        """Return every parameter's value for a foot, formulas worked out, in the file's order."""
        known = self.values(values)
        return {
            p.key: round(min(max(p.default.value(landmarks), p.least), p.most), 4)
            if p.key not in known and isinstance(p.default, Formula)
            else known[p.key]
            for p in self.parameters
        }


def style_names() -> tuple[str, ...]:
    """Return the names of all styles there are files for, in order.

    >>> "lace-up-ankle-boot" in style_names()
    True
    """
    folder = resources.files("patterns") / "styles"
    return tuple(sorted(f.name[:-5] for f in folder.iterdir() if f.name.endswith(".toml")))


@cache
def load_style(name: str) -> Style:
    """Return a style by its name.

    Raises
    ------
    StyleError
        No such style, or its file is faulty.
    """
    if name not in style_names():
        known = ", ".join(style_names())
        text = f'There is no style "{name[:60]}"; there are {known}.'
        raise StyleError(text, field="style", code="style-unknown", name=name)
    content = (resources.files("patterns") / "styles" / f"{name}.toml").read_bytes()
    return style_from_toml(name, content)


def style_from_toml(name: str, content: bytes) -> Style:
    """Return the style a TOML file describes.

    The file may take whole groups of parameters from ``styles/shared`` by naming them under
    ``shares``, and give some of them other defaults under ``defaults``.

    Raises
    ------
    StyleError
        The file is not TOML, a key is missing, or a default lies outside its own range.
    """
    digest = hashlib.sha256(content)
    try:
        table = tomllib.loads(content.decode())
        entries: list[Mapping[str, object]] = []
        for group in table.get("shares", []):
            shared = _shared_group(str(group))
            digest.update(shared)
            entries += tomllib.loads(shared.decode())["parameters"]
        entries += table.get("parameters", [])
        defaults = dict(table.get("defaults", {}))
        parameters = tuple(_parameter(entry, defaults) for entry in entries)
        label, description = str(table["label"]), str(table["description"])
        method = str(table["method"])
        lines = lines_from_table(table) if method == "surface" else None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise _file_fault(name, f"is not TOML: {error}") from None
    except KeyError as error:
        raise _file_fault(name, f"lacks {error}") from None
    except (TypeError, ValueError) as error:
        raise _file_fault(name, f"has a value of the wrong kind: {error}") from None
    keys = [parameter.key for parameter in parameters]
    if len(set(keys)) != len(keys):
        raise _file_fault(name, "names a parameter twice")
    if defaults:
        raise _file_fault(name, f"gives defaults for no parameter: {', '.join(defaults)}")
    return Style(name, label, description, method, parameters, digest.hexdigest(), lines)


def _shared_group(group: str) -> bytes:
    known = {f.name[:-5]: f for f in (resources.files("patterns") / "styles" / "shared").iterdir()}
    if group not in known:
        raise ValueError(f"shares {group!r}; there are {', '.join(sorted(known))}")
    return known[group].read_bytes()


def _parameter(entry: Mapping[str, object], defaults: dict[str, object]) -> Parameter:
    kind = next((kind for kind in UNITS if kind == entry["kind"]), None)
    if kind is None:
        raise ValueError(f"kind {entry['kind']!r}")
    key = str(entry["key"])
    unit = UNITS[kind]
    if unit and not key.endswith(f"_{unit}"):
        raise ValueError(f"key {key!r} does not end in its unit {unit}")
    parameter = Parameter(
        key=key,
        label=str(entry["label"]),
        kind=kind,
        default=_default(defaults.pop(key, entry["default"])),
        least=float(str(entry.get("least", 0))),
        most=float(str(entry.get("most", 1))),
        help_text=str(entry["help"]),
    )
    if not isinstance(parameter.default, Formula):
        parameter.read(parameter.default)
    return parameter


def _default(given: object) -> Value | Formula:
    if isinstance(given, bool):
        return given
    if isinstance(given, int | float):
        return float(given)
    return formula_from(given)


def _file_fault(name: str, text: str) -> StyleError:
    return StyleError(f'The file of style "{name}" {text}.', field="style", code="style-file")
