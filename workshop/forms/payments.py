"""Forms of payments, bills and credit notes."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from costing.money import to_minor_unit
from workshop.forms.pairs import EARLIEST, MOST_MONEY, DayField, MoneyField
from workshop.models import Commission, Payment
from workshop.selectors.payments import Account, LineLeft
from workshop.services.bills import MOST_CHANGES, Change
from workshop.tokens import random_token


class PaymentForm(forms.ModelForm):
    """One payment as it came, or a refund as it went back."""

    paid_on = DayField(label=gettext_lazy("Day"))
    amount = MoneyField(label=gettext_lazy("Amount"))
    fee = forms.DecimalField(
        label=gettext_lazy("Fee really taken"),
        max_digits=12,
        decimal_places=4,
        min_value=-MOST_MONEY,
        max_value=MOST_MONEY,
        required=False,
        help_text=gettext_lazy(
            "What the payment service and the place of sale kept of it. Of a refund: below 0 if"
            " they gave a fee back."
        ),
    )
    form_key = forms.CharField(
        max_length=43, required=False, initial=random_token, widget=forms.HiddenInput
    )

    class Meta:
        model = Payment
        fields = ["kind", "paid_on", "way", "amount", "fee", "note"]

    def __init__(self, *args: Any, account: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["amount"] = _first_amount(account)
        self.initial["way"] = account.counted[-1].way if account.counted else Payment.Way.TRANSFER
        self.initial["kind"] = _first_kind(account)
        self.initial["paid_on"] = timezone.localdate()

    def clean_amount(self) -> Decimal:
        """Refuse no amount at all."""
        amount = Decimal(self.cleaned_data["amount"])
        if amount <= 0:
            raise ValidationError(_("Write an amount above 0."))
        return amount

    def clean_fee(self) -> Decimal:
        """Take an empty fee as none."""
        return self.cleaned_data.get("fee") or Decimal(0)

    def _post_clean(self) -> None:
        super()._post_clean()
        self.instance.form_key = self.cleaned_data.get("form_key") or None


def _first_kind(account: Account) -> str:
    if account.to_give_back:
        return Payment.Kind.REFUND
    is_deposit = not account.bills and account.deposit_open is not None
    return Payment.Kind.DEPOSIT if is_deposit else Payment.Kind.BALANCE


def _first_amount(account: Account) -> str:
    """Return what is most likely paid next: the deposit, else all that is open."""
    wanted = account.deposit_open if not account.bills else None
    amount = wanted or max(account.open, account.to_give_back)
    return f"{amount:f}" if amount > 0 else ""


class CancelForm(forms.Form):
    """Why a payment is taken back."""

    reason = forms.CharField(label=gettext_lazy("Why"), max_length=200)


class AnyDayField(forms.DateField):
    """A day of delivery: one that has come, or will within a year."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def clean(self, value: Any) -> Any:
        """Refuse a day that cannot be."""
        day = super().clean(value)
        today = timezone.localdate()
        if day is not None and not (day >= EARLIEST and (day - today).days <= 366):
            raise ValidationError(_("Write a day from the year 2000 on, within a year from now."))
        return day


class BillForm(forms.Form):
    """What a bill says besides what was agreed."""

    delivered_on = AnyDayField(
        label=gettext_lazy("Day of delivery"),
        required=False,
        help_text=gettext_lazy("Many tax laws ask for it; left empty, the bill names none."),
    )
    note = forms.CharField(
        label=gettext_lazy("Note on the bill"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, job: Commission, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parcel = job.parcels.order_by("sent_on").first()
        if parcel is not None:
            self.initial["delivered_on"] = parcel.sent_on
        elif job.finished_at is not None:
            self.initial["delivered_on"] = timezone.localdate(job.finished_at)


class ChangeRow(forms.Form):
    """A line added to what was agreed; empty where nothing was."""

    text = forms.CharField(label=gettext_lazy("Line"), max_length=300, required=False)
    amount = forms.DecimalField(
        label=gettext_lazy("Amount with tax"),
        max_digits=12,
        decimal_places=4,
        min_value=-MOST_MONEY,
        max_value=MOST_MONEY,
        required=False,
    )
    reason = forms.CharField(label=gettext_lazy("Why"), max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for all three or none."""
        data = super().clean()
        given = [name for name in ("text", "amount", "reason") if data.get(name)]
        if given and len(given) < 3 and not self.errors:
            for name in ("text", "amount", "reason"):
                if name not in given:
                    self.add_error(name, _("Needed on a line that is added."))
        return data

    @property
    def change(self) -> Change | None:
        """Return the line, None of an empty row."""
        data = self.cleaned_data
        if not data.get("text"):
            return None
        return Change(data["text"], data["amount"], data["reason"])


ChangeRows = forms.formset_factory(
    ChangeRow, extra=3, max_num=MOST_CHANGES, absolute_max=MOST_CHANGES
)


class CreditForm(forms.Form):
    """What is taken back of each line of a bill, with tax, and why."""

    reason = forms.CharField(label=gettext_lazy("Why"), max_length=200)

    def __init__(self, *args: Any, lines: list[LineLeft], currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = lines
        for left in lines:
            field = forms.DecimalField(
                label=_("Taken back of “%(line)s”") % {"line": left.line.text},
                max_digits=12,
                decimal_places=4,
                min_value=-MOST_MONEY,
                max_value=MOST_MONEY,
                required=False,
            )
            self.fields[f"line-{left.line.pk}"] = field
            self.initial[f"line-{left.line.pk}"] = to_minor_unit(left.amount, currency)

    def rows(self) -> list[tuple[LineLeft, forms.BoundField]]:
        """Return each line with its field."""
        return [(left, self[f"line-{left.line.pk}"]) for left in self.lines]

    @property
    def amounts(self) -> dict[int, Decimal]:
        """Return what is taken back of each line, by its id."""
        found = {left.line.pk: self.cleaned_data.get(f"line-{left.line.pk}") for left in self.lines}
        return {key: amount for key, amount in found.items() if amount}
