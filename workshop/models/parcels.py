"""Parcels sent: what they were packed in, what they weighed, and what they really cost."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.orders import Commission
from workshop.models.rates import amount_field

HEAVIEST_G = 30_000


class Parcel(models.Model):
    """One parcel of a job."""

    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="parcels"
    )
    packing = models.CharField(_("packing"), max_length=200, blank=True)
    weight_g = models.PositiveIntegerField(
        _("weight (g)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(HEAVIEST_G)],
    )
    packing_cost = amount_field(_("packing really cost"), "0")
    cost = models.DecimalField(
        _("postage really paid"),
        max_digits=12,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    carrier = models.CharField(_("carrier"), max_length=80, blank=True)
    tracking = models.CharField(_("tracking number"), max_length=80, blank=True)
    sent_on = models.DateField(_("sent on"))
    note = models.CharField(_("note"), max_length=200, blank=True)
    form_key = models.CharField(
        max_length=43, unique=True, null=True, blank=True, editable=False, default=None
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("parcel")
        ordering = ["sent_on", "id"]

    def __str__(self) -> str:
        return f"{self.commission.code} {self.sent_on}"
