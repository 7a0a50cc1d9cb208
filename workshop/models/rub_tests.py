"""Rub tests: whether a leather's colour comes off on a white cloth, dry and damp."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Unchanging
from workshop.models.stock import LeatherLot


class RubTest(Unchanging):
    """One test of a lot on a hidden spot.

    A white cloth rubbed to and fro over the grain, as the laboratories do by ISO 11640 with a felt
    and a grey scale (from memory); by hand and eye it tells only whether colour comes off.
    """

    class Cloth(models.TextChoices):
        """What the cloth showed."""

        CLEAN = "clean", _("no colour on the cloth")
        TRACE = "trace", _("a trace of colour")
        STRONG = "strong", _("strong colour")

    lot = models.ForeignKey(LeatherLot, on_delete=models.PROTECT, related_name="rub_tests")
    dry = models.CharField(_("dry cloth"), max_length=6, choices=Cloth.choices)
    damp = models.CharField(_("damp cloth"), max_length=6, choices=Cloth.choices)
    note = models.CharField(_("note"), max_length=200, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("rub test")
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.lot.code}: {self.get_dry_display()}, {self.get_damp_display()}"

    @property
    def is_clean(self) -> bool:
        """Return whether neither cloth took any colour."""
        return self.dry == self.damp == self.Cloth.CLEAN
