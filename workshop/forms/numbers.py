"""The box decimals are typed into: with a point or a comma, whatever the browser's own language."""

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from django import forms

from workshop.lengths import typed_mm


class DecimalInput(forms.TextInput):
    """A box for a decimal number.

    A browser's own number box refuses the comma or the point, by the language it is set to, and
    then sends nothing at all of what was typed.
    """

    def __init__(self, attrs: Mapping[str, Any] | None = None) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off", **(attrs or {})})

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        """Return what was typed, a comma as the point it stands for."""
        typed = super().value_from_datadict(data, files, name)
        if isinstance(typed, str) and typed.count(",") == 1 and "." not in typed:
            return typed.replace(",", ".")
        return typed


class MmField(forms.DecimalField):
    """A length in mm that may be typed in inches, their sign behind them: 15 1/2 in."""

    def to_python(self, value: Any) -> Any:
        """Return the length in mm; what is no length is told as any other number."""
        if isinstance(value, str):
            with suppress(ValueError):
                value = typed_mm(value)
        return super().to_python(value)
