"""What a try-on sheet said, strip by strip."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from patterns.try_on import INSOLE, SCALE_MM, Strip
from workshop.documents.try_on_sheet import strip_words
from workshop.forms.library import LengthField

MEETS, SHORT, OVER = "meets", "short", "over"
SAID = [
    ("", _("not tried")),
    (MEETS, _("meets")),
    (SHORT, _("short by")),
    (OVER, _("over by")),
]


class TryOnForm(forms.Form):
    """For each strip: meets, short or over, and by how many mm."""

    def __init__(self, *args: Any, strips: Sequence[Strip], **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self._names = {strip.key: strip_words(strip) for strip in strips}
        self._names[INSOLE] = gettext("insole, heel to toe")
        for key, words in self._names.items():
            self.fields[f"{key}_said"] = forms.ChoiceField(
                label=words, choices=SAID, required=False
            )
            self.fields[f"{key}_mm"] = LengthField(
                label=gettext("%(strip)s, mm") % {"strip": words},
                least=Decimal(0),
                most=Decimal(SCALE_MM),
                required=False,
            )
            self.fields[f"{key}_mm"].widget.attrs["aria-label"] = self.fields[f"{key}_mm"].label

    def clean(self) -> dict[str, Any]:
        """Ask for an amount where a strip did not meet, and for one answer at least."""
        data = super().clean()
        for key in self._names:
            said, amount = data.get(f"{key}_said"), data.get(f"{key}_mm")
            if f"{key}_mm" in self.errors:
                continue
            if said in (SHORT, OVER) and not amount:
                self.add_error(f"{key}_mm", ValidationError(_("By how many mm?"), code="amount"))
            elif said in ("", MEETS) and amount:
                self.add_error(
                    f"{key}_said", ValidationError(_("Short or over? Choose one."), code="said")
                )
        if not self.errors and not self.larger_mm():
            raise ValidationError(_("Say of one strip at least how it went."), code="nothing")
        return data

    def larger_mm(self) -> dict[str, float]:
        """Return by how much the foot is larger than the sheet, for what was tried."""
        found: dict[str, float] = {}
        for key in self._names:
            said = self.cleaned_data.get(f"{key}_said")
            amount = float(self.cleaned_data.get(f"{key}_mm") or 0)
            if said:
                found[key] = -amount if said == OVER else amount
        return found

    def words(self) -> str:
        """Return what was found in a few words, as the reason of the new foot."""
        parts = []
        for key, larger in self.larger_mm().items():
            sign = f"{larger:+g}".replace("-", "−") if larger else "0"
            parts.append(f"{self._names[key].split(',')[0]} {sign}")
        return gettext("tried on by paper, mm: %(found)s") % {"found": ", ".join(parts)}

    def rows(self) -> list[tuple[str, forms.BoundField, forms.BoundField]]:
        """Return each strip's words and its two boxes."""
        return [(words, self[f"{k}_said"], self[f"{k}_mm"]) for k, words in self._names.items()]
