"""Forms for lots of leather and for supplies; hides have theirs in `workshop.forms.hides`."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.forms.seen import SeenForm
from workshop.lengths import length_text
from workshop.models import LeatherLot, StockMove, Supply


class RecordForm(SeenForm):
    """A record's form that shows figures as they were typed, without a database's noughts."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, value in self.initial.items():
            if isinstance(value, Decimal):
                self.initial[name] = length_text(value)


class LotForm(RecordForm):
    """A lot of leather: hides bought together."""

    class Meta:
        model = LeatherLot
        fields = [
            "name",
            "colour",
            "thickness_mm",
            "tannage",
            "finish",
            "price",
            "price_unit",
            "supplier",
            "bought_on",
            "smallest_sold_dm2",
            "whole_hide_dm2",
            "colour_may_rub",
            "note",
        ]
        widgets = {
            "bought_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 3}),
        }
        help_texts = {"price": gettext_lazy("A square foot is 9.290304 dm² exactly.")}

    def clean(self) -> dict[str, Any]:
        """Ask for a whole hide's size where nothing else tells what a dm² costs."""
        data = super().clean()
        is_offer_per_hide = (
            "bought_on" not in self.errors
            and data.get("bought_on") is None
            and data.get("price_unit") == LeatherLot.PriceUnit.HIDE
        )
        if is_offer_per_hide and not data.get("whole_hide_dm2") and not self.errors:
            self.add_error(
                "whole_hide_dm2",
                _("An offer priced per hide needs the size of a whole hide, to cost a dm²."),
            )
        return data


class SupplyForm(RecordForm):
    """A supply: what it is, how it is counted and what a pack costs."""

    class Meta:
        model = Supply
        fields = [
            "name",
            "kind",
            "unit",
            "pack_quantity",
            "pack_price",
            "reorder_point",
            "supplier",
            "is_usual",
            "note",
        ]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "pack_quantity": gettext_lazy("In the unit: 25 for a reel of 25 m."),
            "reorder_point": gettext_lazy("In the unit; 0 for no reminder."),
            "is_usual": gettext_lazy(
                "Used when a job names none. Only one of a kind is; the first of a kind always."
            ),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is None:
            self.initial["is_usual"] = False


class MoveForm(forms.Form):
    """One line for the ledger."""

    kind = forms.ChoiceField(label=gettext_lazy("What happened"))
    quantity = forms.DecimalField(
        label=gettext_lazy("Quantity"),
        max_digits=10,
        decimal_places=3,
        min_value=Decimal(0),
        max_value=Decimal(1_000_000),
    )
    paid = forms.DecimalField(
        label=gettext_lazy("Paid in all"),
        help_text=gettext_lazy("For what was bought; left empty, by the price of a pack."),
        max_digits=12,
        decimal_places=4,
        min_value=Decimal(0),
        required=False,
    )
    reason = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=200,
        help_text=gettext_lazy("Such as “for job O-0012” or “yearly count”."),
    )

    def __init__(self, *args: Any, unit: str, may_buy: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = StockMove.Kind
        choices = [(kinds.USED, _("used up")), (kinds.COUNTED, _("counted on the shelf"))]
        if may_buy:
            choices.insert(0, (kinds.BOUGHT, _("bought")))
        else:
            del self.fields["paid"]
        self.fields["kind"].choices = choices
        self.fields["quantity"].label = _("Quantity (%(unit)s)") % {"unit": unit}
