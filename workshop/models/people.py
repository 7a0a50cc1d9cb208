"""Who works here, with which role, and what the workshop calls itself."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.lengths import INCH, MM
from workshop.read_once import read_once


class Role(models.TextChoices):
    """What a person may see and do; the table in `workshop.doors` says where."""

    OWNER = "owner", _("owner")
    HELPER = "helper", _("helper")
    BOOKKEEPER = "bookkeeper", _("bookkeeper")


class Member(models.Model):
    """The role of one login."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="member"
    )
    role = models.CharField(_("role"), max_length=12, choices=Role.choices)
    length_unit = models.CharField(
        _("lengths are typed in"),
        max_length=2,
        choices=[(MM, _("millimetres")), (INCH, _("inches"))],
        default=MM,
    )
    # What was looked at last, newest first: [letter of its code, key]. No names: those are read
    # when they are shown, so that what is erased is gone from here too.
    looked_at = models.JSONField(default=list, blank=True, editable=False)

    class Meta:
        verbose_name = _("person")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="member_role_is_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.user.get_username()} ({self.get_role_display()})"


class LoginLink(models.Model):
    """A link that lets one person set a password, once; only its hash is kept."""

    token_hash = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=12, choices=Role.choices)
    # The login whose password it sets anew; None for one that makes a login.
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE
    )
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.role} link of {self.made_at:%Y-%m-%d}"


class WorkshopProfile(models.Model):
    """The one row with the workshop's own settings."""

    class StockCost(models.TextChoices):
        """What goods taken from the shelf cost, where some can stand for others (IAS 2.25)."""

        FIFO = "fifo", _("the oldest are used first")
        AVERAGE = "average", _("the average of what is there")

    name = models.CharField(_("workshop name"), max_length=80, default="Doll Footwear Workshop")
    address = models.TextField(_("address for papers"), max_length=400, blank=True)
    currency = models.CharField(_("currency"), max_length=3, default="EUR")
    paper = models.CharField(
        _("paper"), max_length=6, choices=[("A4", "A4"), ("Letter", "Letter")], default="A4"
    )
    quote_valid_days = models.PositiveSmallIntegerField(
        _("a quote is valid for (days)"),
        default=21,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
    )
    stock_cost = models.CharField(
        _("supplies taken cost"),
        max_length=8,
        choices=StockCost.choices,
        default=StockCost.FIFO,
    )
    profit_floor_pct = models.DecimalField(
        _("least profit on the list for sale (% of the price before tax)"),
        max_digits=5,
        decimal_places=2,
        default=Decimal(10),
        validators=[MinValueValidator(Decimal(-100)), MaxValueValidator(Decimal(99))],
    )
    deposit_days = models.PositiveSmallIntegerField(
        _("what is reserved waits for a deposit (days)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
    )
    deposit_pct = models.DecimalField(
        _("deposit asked (% of the price)"),
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(100))],
    )
    tax_name = models.CharField(_("what the tax is called"), max_length=30, blank=True)
    tax_number = models.CharField(_("tax number"), max_length=60, blank=True)
    tax_wording = models.TextField(_("what a bill says about tax"), max_length=1000, blank=True)
    bill_wording = models.TextField(
        _("what a bill says about payment"), max_length=2000, blank=True
    )
    quote_wording = models.TextField(
        _("what a quote says about deposit and delivery"), max_length=2000, blank=True
    )
    keep_customers_months = models.PositiveSmallIntegerField(
        _("customers are kept after their last order (months)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(600)],
    )
    # When the invented demo was loaded; None where it never was, or is removed.
    demo_from = models.DateTimeField(null=True, blank=True, editable=False)

    def __str__(self) -> str:
        return self.name

    @classmethod
    @read_once
    def current(cls) -> "WorkshopProfile":
        """Return the one row, made on first use."""
        profile, _made = cls.objects.get_or_create(pk=1)
        return profile
