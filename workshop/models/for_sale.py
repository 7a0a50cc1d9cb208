"""What is for sale without a customer yet: pairs in house sizes, printed guides, their prices."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.library import FootVersion
from workshop.models.numbers import Numbered, Unchanging
from workshop.models.places import PlaceOfSale
from workshop.models.rates import amount_field
from workshop.models.stock import LeatherLot
from workshop.models.styles import StyleVersion


class Article(Numbered):
    """Something offered at a place of sale; its newest price is the one asked."""

    class Kind(models.TextChoices):
        """What is sold."""

        PAIR = "pair", _("pair")
        GUIDE = "guide", _("printed guide")

    code_letter = "A"
    kind = models.CharField(_("what"), max_length=6, choices=Kind.choices, default=Kind.PAIR)
    style = models.ForeignKey(StyleVersion, verbose_name=_("style"), on_delete=models.PROTECT)
    foot = models.ForeignKey(
        FootVersion, verbose_name=_("house size"), null=True, blank=True, on_delete=models.PROTECT
    )
    lot = models.ForeignKey(
        LeatherLot, verbose_name=_("leather"), null=True, blank=True, on_delete=models.PROTECT
    )
    # Leather whose colour may rub gets a lining and a sock lining, unless the maker says no.
    is_lined = models.BooleanField(_("lined where the colour may rub"), default=True)
    # None: no place of its own, the rate card's fees.
    place = models.ForeignKey(
        PlaceOfSale,
        verbose_name=_("place of sale"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="articles",
    )
    printing_cost = amount_field(_("printing and envelope"), "0")
    minutes = models.DecimalField(
        _("minutes to print, pack and post one"),
        max_digits=6,
        decimal_places=2,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(1000)],
    )
    is_offered = models.BooleanField(_("for sale"), default=True)
    # The run of prices that was last answered for it; a newer one is still to be looked at.
    answered_work = models.PositiveBigIntegerField(default=0, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("article for sale")
        verbose_name_plural = _("articles for sale")
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="guide")
                | models.Q(foot__isnull=False, lot__isnull=False, kind="pair"),
                name="a_pair_has_size_and_leather",
            ),
            models.CheckConstraint(
                condition=models.Q(minutes__gte=0), name="article_minutes_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.code


class ArticlePrice(Unchanging):
    """A price once asked for an article, with every figure behind it."""

    article = models.ForeignKey(Article, on_delete=models.PROTECT, related_name="prices")
    work = models.PositiveBigIntegerField(_("run it comes from"))
    currency = models.CharField(max_length=3)
    price = models.DecimalField(_("price"), max_digits=14, decimal_places=4)
    cost = models.DecimalField(_("cost"), max_digits=14, decimal_places=4)
    profit = models.DecimalField(_("profit"), max_digits=14, decimal_places=4)
    # Lines and sums as shown, each with how it came about.
    document = models.JSONField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("price of an article")
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(fields=["article", "work"], name="article_price_once_a_run")
        ]

    def __str__(self) -> str:
        return f"{self.article} {self.price:f} {self.currency}"
