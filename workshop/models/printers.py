"""Printers, and what each made of the bars of a calibration page."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from patterns.drawing.calibration import ACROSS_MM, ALONG_MM
from patterns.drawing.paper import Printer as PrinterScale


class Printer(models.Model):
    """What came out of a printer where so many millimetres were drawn.

    `across_mm` was measured on the bar along the sheet's short side, `along_mm` on the one along
    its long side. Only one printer is in use at a time; sheets for cutting come out true from it.
    """

    name = models.CharField(_("printer"), max_length=40, unique=True)
    across_mm = models.DecimalField(
        _("the level bar measures (mm)"),
        max_digits=6,
        decimal_places=3,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(400))],
    )
    along_mm = models.DecimalField(
        _("the upright bar measures (mm)"),
        max_digits=6,
        decimal_places=3,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(400))],
    )
    in_use = models.BooleanField(_("in use"), default=False)
    measured_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["in_use"], condition=models.Q(in_use=True), name="one_printer_in_use"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def scale(self) -> PrinterScale:
        """Return what it makes of a millimetre either way."""
        return PrinterScale(
            name=self.name,
            across=float(self.across_mm) / ACROSS_MM,
            along=float(self.along_mm) / ALONG_MM,
        )

    @property
    def across_pct(self) -> str:
        """Return what comes out across, in per cent to a hundredth."""
        return f"{100 * self.scale.across:.2f}"

    @property
    def along_pct(self) -> str:
        """Return what comes out along, in per cent to a hundredth."""
        return f"{100 * self.scale.along:.2f}"
