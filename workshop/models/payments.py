"""What was paid for a job, and the bills and credit notes written for it."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Unchanging
from workshop.models.orders import Commission


class Payment(models.Model):
    """Money that came for a job, or went back; a row written in error is taken back, and stays."""

    class Kind(models.TextChoices):
        """What it was for."""

        DEPOSIT = "deposit", _("deposit")
        BALANCE = "balance", _("balance")
        REFUND = "refund", _("refund")

    class Way(models.TextChoices):
        """How it was paid."""

        TRANSFER = "transfer", _("bank transfer")
        SERVICE = "service", _("payment service")
        CARD = "card", _("card")
        PLACE = "place", _("through the place of sale")
        CASH = "cash", _("cash")
        OTHER = "other", _("another way")

    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="payments"
    )
    kind = models.CharField(_("what it is"), max_length=8, choices=Kind.choices)
    way = models.CharField(_("way"), max_length=10, choices=Way.choices)
    paid_on = models.DateField(_("day"))
    amount = models.DecimalField(
        _("amount"),
        max_digits=12,
        decimal_places=4,
        validators=[MinValueValidator(Decimal("0.0001"))],
    )
    # What was really kept of it; below zero where a refund brought a fee back.
    fee = models.DecimalField(
        _("fee really taken"), max_digits=12, decimal_places=4, default=Decimal(0)
    )
    currency = models.CharField(max_length=3)
    note = models.CharField(_("note"), max_length=200, blank=True)
    # The form it was written in: the same form sent twice is one payment.
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
    cancelled_at = models.DateTimeField(null=True, blank=True, editable=False)
    cancel_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        verbose_name = _("payment")
        ordering = ["paid_on", "id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(amount__gt=0), name="payment_is_above_zero")
        ]

    def __str__(self) -> str:
        return f"{self.commission.code} {self.get_kind_display()} {self.paid_on}"

    @property
    def signed(self) -> Decimal:
        """Return the amount as it counts: a refund below zero."""
        return -self.amount if self.kind == self.Kind.REFUND else self.amount


class Bill(Unchanging):
    """A final bill, or a credit note that takes one back in all or in part; never changed.

    Each kind is numbered without gaps. What stands on the paper besides the lines, names and
    addresses of both sides among it, is kept in ``content`` as it was that day.
    """

    class Kind(models.TextChoices):
        """Which of the two it is."""

        BILL = "bill", _("bill")
        CREDIT = "credit", _("credit note")

    kind = models.CharField(max_length=6, choices=Kind.choices)
    number = models.PositiveIntegerField(_("number"))
    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="bills"
    )
    bill = models.ForeignKey(
        "self",
        verbose_name=_("takes back"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="credit_notes",
    )
    reason = models.CharField(_("why"), max_length=200, blank=True)
    currency = models.CharField(max_length=3)
    # Sums of the lines, each with tax; a credit note's are what it takes back.
    amount = models.DecimalField(max_digits=14, decimal_places=4)
    tax = models.DecimalField(max_digits=14, decimal_places=4)
    issued_on = models.DateField(_("issued on"))
    content = models.JSONField(default=dict)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("bill")
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "number"], name="bill_number_once"),
            models.CheckConstraint(
                condition=models.Q(kind="bill", bill=None)
                | models.Q(kind="credit", bill__isnull=False),
                name="credit_note_names_its_bill",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def code(self) -> str:
        """Return what people call it, such as Bill 0007."""
        word = _("Bill") if self.kind == self.Kind.BILL else _("Credit note")
        return f"{word} {self.number:04d}"

    @property
    def file_name(self) -> str:
        """Return its name as a file's, without the ending."""
        word = "bill" if self.kind == self.Kind.BILL else "credit-note"
        return f"{word}-{self.number:04d}"


class BillLine(Unchanging):
    """One line of a bill or a credit note: amount with tax, and the tax in it."""

    class Key(models.TextChoices):
        """What the line is for."""

        GOODS = "goods", _("what was agreed")
        RUSH = "rush", _("rush extra")
        POSTAGE = "postage", _("postage and packing")
        CHANGE = "change", _("changed since")

    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, related_name="lines")
    # Of a credit note: the very line that is taken back.
    of_line = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="taken_back"
    )
    position = models.PositiveSmallIntegerField()
    key = models.CharField(max_length=8, choices=Key.choices)
    text = models.CharField(max_length=300)
    reason = models.CharField(max_length=200, blank=True)
    amount = models.DecimalField(max_digits=14, decimal_places=4)
    tax = models.DecimalField(max_digits=14, decimal_places=4)
    tax_pct = models.DecimalField(max_digits=6, decimal_places=3)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["bill", "position"], name="bill_line_position_once"),
            models.CheckConstraint(
                condition=~models.Q(key="change") | ~models.Q(reason=""),
                name="changed_bill_line_says_why",
            ),
        ]

    def __str__(self) -> str:
        return self.text
