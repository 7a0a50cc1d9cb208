"""Finished pairs that nobody has ordered: where each is, and every step it took."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.for_sale import Article
from workshop.models.library import Customer
from workshop.models.numbers import Numbered, Unchanging
from workshop.models.orders import Commission
from workshop.models.places import PlaceOfSale


def _amount(name: str, **options: object) -> models.DecimalField:
    return models.DecimalField(
        name,
        max_digits=12,
        decimal_places=4,
        validators=[MinValueValidator(Decimal(0))],
        **options,
    )


class FinishedPair(Numbered):
    """One pair on the shelf, at a stall, kept for somebody, or sold."""

    class State(models.TextChoices):
        """Where it is."""

        HERE = "here", _("on the shelf")
        RESERVED = "reserved", _("reserved")
        AWAY = "away", _("at a stall")
        SOLD = "sold", _("sold")

    code_letter = "F"
    name = models.CharField(
        _("what it is"), max_length=160, help_text=_("Style, size, leather and colour.")
    )
    # The job it was made for, and the article it is sold as, where there is one.
    commission = models.ForeignKey(
        Commission,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="finished_pairs",
    )
    article = models.ForeignKey(
        Article,
        verbose_name=_("article on the list"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="pairs",
    )
    # By which a month sums it up; empty where nobody said.
    style = models.CharField(_("style"), max_length=120, blank=True)
    made_on = models.DateField(_("made on"), default=timezone.localdate)
    currency = models.CharField(max_length=3)
    cost = _amount(_("what it cost"))
    asked = _amount(_("price asked"))
    state = models.CharField(max_length=10, choices=State.choices, default=State.HERE)
    # The stall it is at, or the place it was sold at.
    place = models.ForeignKey(
        PlaceOfSale,
        verbose_name=_("place of sale"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="pairs",
    )
    customer = models.ForeignKey(
        Customer,
        verbose_name=_("reserved for"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="pairs",
    )
    sold_on = models.DateField(_("sold on"), null=True, blank=True)
    sold_price = _amount(_("price paid"), null=True, blank=True)
    sold_tax = _amount(_("tax in it"), null=True, blank=True)
    sold_fee = _amount(_("fee of the place"), null=True, blank=True)
    # Fees that were not given back with a pair that came back from its buyer.
    lost_fees = _amount(_("fees lost"), default=Decimal(0))

    class Meta:
        verbose_name = _("finished pair")
        ordering = ["-number"]
        indexes = [models.Index(fields=["state", "-number"], name="finished_pair_state")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    state="sold",
                    sold_on__isnull=False,
                    sold_price__isnull=False,
                    sold_tax__isnull=False,
                    sold_fee__isnull=False,
                )
                | (~models.Q(state="sold") & models.Q(sold_on=None, sold_price=None)),
                name="a_sold_pair_has_a_price",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="away") | models.Q(place__isnull=False),
                name="a_pair_away_is_somewhere",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="reserved") | models.Q(customer__isnull=False),
                name="a_reserved_pair_is_for_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def earned(self) -> Decimal | None:
        """Return what is left of the price after tax, fees and what it cost; None until sold."""
        if self.sold_price is None:
            return None
        assert self.sold_tax is not None
        assert self.sold_fee is not None
        return self.sold_price - self.sold_tax - self.sold_fee - self.lost_fees - self.cost


class PairStep(Unchanging):
    """One thing that was done with a finished pair."""

    class Kind(models.TextChoices):
        """What was done."""

        MADE = "made", _("made")
        RESERVED = "reserved", _("reserved")
        RELEASED = "released", _("no longer reserved")
        TAKEN = "taken", _("taken to a stall")
        BACK = "back", _("came back from the stall")
        MARKED_DOWN = "marked down", _("marked down")
        SOLD = "sold", _("sold")
        RETURNED = "returned", _("came back from its buyer")

    pair = models.ForeignKey(FinishedPair, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    done_on = models.DateField(default=timezone.localdate)
    place = models.ForeignKey(PlaceOfSale, null=True, blank=True, on_delete=models.PROTECT)
    # The price asked or paid, and what the place kept of it.
    price = _amount(_("price"), null=True, blank=True)
    fee = _amount(_("fee"), null=True, blank=True)
    tax = _amount(_("tax"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.pair.code} {self.get_kind_display()}"
