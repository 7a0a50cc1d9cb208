"""Rate cards: what an hour, a fee and a tax are, version by version."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from costing.job import MOST_PAYMENTS
from workshop.models.numbers import Unchanging


def percent_field(label: str, default: str, most: str) -> models.DecimalField:
    """Return a field for a percentage from 0 to `most`."""
    return models.DecimalField(
        label,
        max_digits=6,
        decimal_places=3,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(most))],
    )


def amount_field(label: str, default: str) -> models.DecimalField:
    """Return a field for an amount of money, zero or more."""
    return models.DecimalField(
        label,
        max_digits=12,
        decimal_places=4,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal(0))],
    )


class RateCard(Unchanging):
    """One version of the workshop's rates; the newest is the one in use."""

    class FeeBase(models.TextChoices):
        """What the place of sale takes its share of."""

        WITH_TAX = "price_with_tax", _("the price with tax")
        WITHOUT_TAX = "price_without_tax", _("the price without tax")

    class ProfitKind(models.TextChoices):
        """How profit is stated."""

        MARGIN = "margin", _("per cent of the price")
        MARKUP = "markup", _("per cent on cost")

    class RoundingWay(models.TextChoices):
        """Which of the prices allowed is taken."""

        UP = "up", _("up to the next")
        NEAREST = "nearest", _("to the nearest")

    class Lacing(models.TextChoices):
        """How laces are laced, which decides their length."""

        CRISS_CROSS = "criss-cross", _("criss-cross")
        STRAIGHT = "straight", _("straight")
        SHOP = "shop", _("as in shops, one long run")

    version = models.PositiveIntegerField(_("version"), unique=True)
    labour_rate_per_hour = models.DecimalField(
        _("labour rate per hour"),
        max_digits=12,
        decimal_places=4,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    overhead_per_active_hour = amount_field(_("overhead per working hour"), "0")
    overhead_pct_of_direct = percent_field(_("overhead, % of material and labour"), "0", "1000")
    fee_pct = percent_field(_("fee of the place of sale (%)"), "0", "99")
    fee_fixed = amount_field(_("fixed fee per order"), "0")
    fee_on = models.CharField(
        _("the fee is taken of"), max_length=20, choices=FeeBase.choices, default=FeeBase.WITH_TAX
    )
    fee_payments = models.PositiveSmallIntegerField(
        _("payments for an order"),
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_PAYMENTS)],
    )
    fee_on_postage = models.BooleanField(_("the fee falls on postage too"), default=False)
    payment_fee_pct = percent_field(_("fee of the payment service (%)"), "0", "99")
    payment_fee_fixed = amount_field(_("fixed fee of each payment"), "0")
    tax_exempt = models.BooleanField(_("not registered: no tax is charged"), default=False)
    tax_spares_postage = models.BooleanField(_("postage is not taxed"), default=False)
    tax_pct = percent_field(_("tax (%)"), "0", "100")
    tax_included = models.BooleanField(_("prices include the tax"), default=True)
    profit_kind = models.CharField(
        _("profit is"), max_length=8, choices=ProfitKind.choices, default=ProfitKind.MARGIN
    )
    profit_pct = percent_field(_("profit (%)"), "20", "1000")
    round_up_to = models.DecimalField(
        _("round prices up to"),
        max_digits=10,
        decimal_places=4,
        default=Decimal("0.50"),
        validators=[MinValueValidator(Decimal("0.0001"))],
    )
    round_ending = amount_field(_("ending of a price"), "0")
    round_way = models.CharField(
        _("prices are rounded"), max_length=8, choices=RoundingWay.choices, default=RoundingWay.UP
    )
    least_price = amount_field(_("least price of a pair"), "0")
    rush_pct = percent_field(_("rush extra (%)"), "0", "1000")
    rush_fixed = amount_field(_("rush extra, fixed"), "0")
    packing_cost = amount_field(_("packing of a parcel"), "0")
    leather_waste_pct = percent_field(_("leather waste until laid out (%)"), "35", "95")
    lining_waste_pct = percent_field(_("lining waste (%)"), "25", "95")
    card_waste_pct = percent_field(_("card waste (%)"), "25", "95")
    thread_waste_pct = percent_field(_("thread waste (%)"), "12", "95")
    eyelet_spare_pct = percent_field(_("spare eyelets (%)"), "5", "100")
    lace_tying_mm = models.DecimalField(
        _("lace for tying, both ends together (mm)"),
        max_digits=6,
        decimal_places=1,
        default=Decimal(240),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(2000))],
    )
    lace_tip_mm = models.DecimalField(
        _("lace in each tip (mm)"),
        max_digits=5,
        decimal_places=1,
        default=Decimal(0),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(200))],
    )
    lacing = models.CharField(
        _("laced"), max_length=12, choices=Lacing.choices, default=Lacing.CRISS_CROSS
    )
    glue_per_pair = models.DecimalField(
        _("glue for a pair (in the glue's unit)"),
        max_digits=8,
        decimal_places=3,
        default=Decimal(6),
        validators=[MinValueValidator(Decimal(0))],
    )
    clay_density_g_per_cm3 = models.DecimalField(
        _("clay density (g/cm³)"),
        max_digits=5,
        decimal_places=3,
        default=Decimal("1.9"),
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(Decimal(10))],
    )
    clay_shrinkage_pct = percent_field(_("clay shrinkage in length (%)"), "2", "30")
    reason = models.CharField(_("why"), max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("rate card")
        ordering = ["-version"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(profit_kind="margin", profit_pct__gte=100),
                name="profit_of_price_below_100",
                violation_error_message=_("Profit must be below 100 %% of the price."),
            )
        ]

    def __str__(self) -> str:
        return f"rate card {self.version}"

    @property
    def has_payment_fee(self) -> bool:
        """Return whether a payment service keeps something besides the place of sale."""
        return bool(self.payment_fee_pct or self.payment_fee_fixed)


class WorkStepRow(Unchanging):
    """One step of the work with its minutes, on one version of the rate card."""

    class Per(models.TextChoices):
        """What the minutes are for."""

        ORDER = "order", _("order")
        BATCH = "batch", _("batch")
        PAIR = "pair", _("pair")
        SHOE = "shoe", _("shoe")
        PIECE = "piece", _("piece")
        EYELET = "eyelet", _("eyelet")
        MM_STITCHED = "mm_stitched", _("100 mm stitched")
        MM_LASTED = "mm_lasted", _("100 mm lasted")

    class Way(models.TextChoices):
        """The way of joining that takes this step; empty for a step of every way."""

        ALWAYS = "", _("always")
        HAND_STITCH = "hand stitch", _("stitched by hand")
        MACHINE = "machine", _("sewn by machine")
        GLUE = "glue", _("glued")

    rate_card = models.ForeignKey(RateCard, on_delete=models.PROTECT, related_name="steps")
    position = models.PositiveSmallIntegerField(_("position"))
    name = models.CharField(_("step"), max_length=80)
    minutes = models.DecimalField(
        _("minutes"),
        max_digits=8,
        decimal_places=3,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(10000))],
    )
    per = models.CharField(_("per"), max_length=12, choices=Per.choices, default=Per.PAIR)
    passive = models.BooleanField(_("waiting, not working"), default=False)
    way = models.CharField(
        _("only if"), max_length=12, choices=Way.choices, default=Way.ALWAYS, blank=True
    )
    less_again_pct = percent_field(_("less for each further pair (%)"), "0", "100")
    # How many timings have moved the minutes since they were last typed by hand.
    timings_in = models.PositiveIntegerField(default=0, editable=False)

    class Meta:
        verbose_name = _("work step")
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["rate_card", "position"], name="step_position_once")
        ]

    def __str__(self) -> str:
        return self.name
