"""What a calibration page measured."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.functional import keep_lazy_text
from django.utils.translation import gettext_lazy as _

from patterns.drawing.calibration import ACROSS_MM, ALONG_MM, printer_measured
from patterns.errors import PatternError
from workshop.forms.library import LengthField
from workshop.models import Printer

LENGTH_MOST = Decimal(400)


@keep_lazy_text
def _true_words(words: str, length_mm: float) -> str:
    return words % {"mm": f"{length_mm:g}"}


def if_true(length_mm: float) -> str:
    """Return how long a bar is where the printer is true; put into words once it is shown."""
    return _true_words(_("%(mm)s mm if the printer is true"), length_mm)


class PrinterForm(forms.ModelForm):
    """A printer's name and the lengths of its two bars."""

    across_mm = LengthField(
        label=_("Level bar measures (mm)"),
        least=Decimal(1),
        most=LENGTH_MOST,
        help_text=if_true(ACROSS_MM),
    )
    along_mm = LengthField(
        label=_("Upright bar measures (mm)"),
        least=Decimal(1),
        most=LENGTH_MOST,
        help_text=if_true(ALONG_MM),
    )

    class Meta:
        model = Printer
        fields = ["name", "across_mm", "along_mm"]
        labels = {"name": _("Printer and paper")}
        help_texts = {"name": _("such as: by the window, A4; a name in the list is measured anew")}

    def clean(self) -> dict[str, Any]:
        """Refuse bars that tell of a scaled page."""
        data = super().clean()
        if data.get("across_mm") and data.get("along_mm"):
            try:
                printer_measured(
                    data.get("name", ""), float(data["across_mm"]), float(data["along_mm"])
                )
            except PatternError as error:
                self.add_error(error.field, error.text)
        return data

    def validate_unique(self) -> None:
        """Let a name in the list through: that printer is measured anew."""
