"""Alterations, repairs and remakes of earlier orders, and the customer's goods in keeping."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Unchanging
from workshop.models.orders import Commission
from workshop.models.stock import LeatherLot, Supply


class Repair(models.Model):
    """What makes a job an alteration, a repair or a remake of what an earlier one delivered."""

    class Kind(models.TextChoices):
        """What is done."""

        ALTERATION = "alteration", _("alteration")
        REPAIR = "repair", _("repair")
        REMAKE = "remake", _("remake")

    class Feet(models.TextChoices):
        """Which of the pair."""

        LEFT = "left", _("left")
        RIGHT = "right", _("right")
        BOTH = "both", _("both")

    commission = models.OneToOneField(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="repair"
    )
    first_order = models.ForeignKey(
        Commission,
        verbose_name=_("first order"),
        on_delete=models.PROTECT,
        related_name="repairs",
    )
    kind = models.CharField(_("what is done"), max_length=10, choices=Kind.choices)
    feet = models.CharField(_("which foot"), max_length=5, choices=Feet.choices)
    is_free = models.BooleanField(
        _("free for the customer"),
        default=False,
        help_text=_("What it costs is then ours, and shown as such."),
    )
    cause = models.TextField(_("cause"), max_length=2000)
    step = models.CharField(_("step of the work it comes from"), max_length=80, blank=True)
    glue = models.ForeignKey(
        Supply,
        verbose_name=_("glue it comes from"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        limit_choices_to={"kind": Supply.Kind.GLUE},
    )
    leather = models.ForeignKey(
        LeatherLot,
        verbose_name=_("leather it comes from"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
    )

    class Meta:
        verbose_name = _("alteration, repair or remake")
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.commission.code}, {self.get_kind_display()}"


class RepairPrice(Unchanging):
    """A small price given for a repair, with every figure behind it; the newest is the one given.

    ``job`` and ``breakdown`` are as a quote keeps them; of a free one the price is 0 and the cost
    is ours.
    """

    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="prices")
    version = models.PositiveIntegerField(_("version"))
    job = models.JSONField()
    breakdown = models.JSONField()
    rate_card = models.PositiveIntegerField()
    price = models.DecimalField(
        max_digits=14, decimal_places=4, validators=[MinValueValidator(Decimal(0))]
    )
    currency = models.CharField(max_length=3)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("price of a repair")
        ordering = ["-version"]
        constraints = [
            models.UniqueConstraint(fields=["repair", "version"], name="repair_price_version_once")
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def pair_count(self) -> int:
        """Return how many pairs it adds to those made: none."""
        return 0

    @property
    def code(self) -> str:
        """Return the short code people see, such as Q-0107-2, as of any quote."""
        return f"Q-{self.repair.commission.number:04d}-{self.version}"


class RepairAnswer(Unchanging):
    """The customer's yes to a repair's price, once a job."""

    repair = models.OneToOneField(Repair, on_delete=models.PROTECT, related_name="answer")
    price = models.ForeignKey(RepairPrice, on_delete=models.PROTECT, related_name="+")
    answered_on = models.DateField()
    way = models.CharField(max_length=20)
    note = models.TextField(max_length=8000, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("answer to a repair's price")

    def __str__(self) -> str:
        return f"{self.price} {self.answered_on}"


class Kept(models.Model):
    """Goods of a customer that are in the workshop's keeping for a job."""

    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="kept"
    )
    what = models.CharField(_("what it is"), max_length=160)
    received_on = models.DateField(_("received on"))
    condition = models.TextField(_("condition as it came"), max_length=2000)
    value = models.DecimalField(
        _("value"),
        max_digits=12,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    currency = models.CharField(max_length=3)
    sent_back_on = models.DateField(_("sent back on"), null=True, blank=True)
    sent_back_note = models.CharField(_("how it went back"), max_length=200, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("goods in keeping")
        verbose_name_plural = _("goods in keeping")
        ordering = ["id"]
        indexes = [
            models.Index(
                fields=["received_on"],
                condition=models.Q(sent_back_on=None),
                name="kept_here",
            )
        ]

    def __str__(self) -> str:
        return self.what


class JobPhoto(models.Model):
    """A photograph that belongs to a job: sent with the enquiry, or of goods in keeping."""

    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="photos")
    kept = models.ForeignKey(
        Kept, null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    sha256 = models.CharField(max_length=64)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    note = models.CharField(_("what it shows"), max_length=160, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("photograph of a job")
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["commission", "sha256"],
                condition=models.Q(kept=None),
                name="job_photo_once",
            ),
            models.UniqueConstraint(
                fields=["kept", "sha256"],
                condition=models.Q(kept__isnull=False),
                name="kept_photo_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.commission.code} {self.sha256[:8]}"
