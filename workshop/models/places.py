"""Places of sale with their fees, and postage and tax by destination: version by version."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from costing.job import MOST_PAYMENTS
from workshop.models.numbers import Numbered, Unchanging
from workshop.models.rates import RateCard, amount_field, percent_field

HEAVIEST_G = Decimal(100_000)


class PlaceOfSale(Numbered):
    """Where pairs are sold: a market, a web shop, the workshop's own door."""

    code_letter = "P"
    name = models.CharField(_("name"), max_length=80, unique=True)
    is_offered = models.BooleanField(_("to be chosen for new quotes"), default=True)

    class Meta:
        verbose_name = _("place of sale")
        verbose_name_plural = _("places of sale")
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class PlaceVersion(Unchanging):
    """One version of what a place keeps; the newest is the one in use."""

    place = models.ForeignKey(PlaceOfSale, on_delete=models.PROTECT, related_name="versions")
    version = models.PositiveIntegerField(_("version"))
    payments = models.PositiveSmallIntegerField(
        _("payments for an order"),
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_PAYMENTS)],
    )
    reason = models.CharField(_("why"), max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("fees of a place of sale")
        ordering = ["-version"]
        constraints = [
            models.UniqueConstraint(fields=["place", "version"], name="place_version_once")
        ]

    def __str__(self) -> str:
        return f"{self.place.name} {self.version}"


class PlaceFee(Unchanging):
    """One fee of a place: per cent of a price, and a fixed sum for each order or payment."""

    place_version = models.ForeignKey(PlaceVersion, on_delete=models.PROTECT, related_name="fees")
    position = models.PositiveSmallIntegerField(_("position"))
    name = models.CharField(_("fee"), max_length=80)
    pct = percent_field(_("per cent"), "0", "99")
    fixed = amount_field(_("fixed"), "0")
    on = models.CharField(
        _("taken of"),
        max_length=20,
        choices=RateCard.FeeBase.choices,
        default=RateCard.FeeBase.WITH_TAX,
    )
    each_payment = models.BooleanField(_("fixed with each payment"), default=False)
    on_postage = models.BooleanField(_("on postage too"), default=False)

    class Meta:
        verbose_name = _("fee")
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["place_version", "position"], name="place_fee_once")
        ]

    def __str__(self) -> str:
        return self.name


class DestinationTable(Unchanging):
    """One version of postage and tax by destination; the newest is the one in use."""

    version = models.PositiveIntegerField(_("version"), unique=True)
    insurance_pct = percent_field(_("insurance, % of the value"), "0", "50")
    insurance_fixed = amount_field(_("insurance, fixed"), "0")
    reason = models.CharField(_("why"), max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("postage and tax by destination")
        ordering = ["-version"]

    def __str__(self) -> str:
        return f"destinations {self.version}"


class PostageLine(Unchanging):
    """Postage to a country up to a weight; no country means all without a line of their own."""

    table = models.ForeignKey(DestinationTable, on_delete=models.PROTECT, related_name="postage")
    position = models.PositiveSmallIntegerField()
    country = models.CharField(_("country"), max_length=60, blank=True)
    up_to_g = models.DecimalField(
        _("up to (g)"),
        max_digits=9,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(HEAVIEST_G)],
    )
    charged = amount_field(_("charged"), "0")
    paid = amount_field(_("paid"), "0")

    class Meta:
        verbose_name = _("postage")
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["table", "country", "up_to_g"], name="postage_weight_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.country} {self.up_to_g} g"


class DestinationTax(Unchanging):
    """The tax on what goes to a country, as the owner sets it."""

    table = models.ForeignKey(DestinationTable, on_delete=models.PROTECT, related_name="taxes")
    position = models.PositiveSmallIntegerField()
    country = models.CharField(_("country"), max_length=60, blank=True)
    pct = percent_field(_("tax (%)"), "0", "100")

    class Meta:
        verbose_name = _("tax of a destination")
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["table", "country"], name="destination_tax_once")
        ]

    def __str__(self) -> str:
        return f"{self.country} {self.pct} %"
