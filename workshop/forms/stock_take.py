"""The form of a stock-take: a row for each supply, typed in or left empty."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.models import StockBalance, Supply
from workshop.models.stock import THOUSANDTHS
from workshop.services.stock import LARGEST_QUANTITY
from workshop.services.stock_take import CountedSupply
from workshop.templatetags.stock_words import counted_units

OTHER = "other"
REASONS = [
    ("", gettext_lazy("–")),
    ("unwritten", gettext_lazy("used and not written down")),
    ("spoiled", gettext_lazy("spoiled or broken")),
    ("lost", gettext_lazy("lost")),
    ("found", gettext_lazy("found again")),
    ("miscounted", gettext_lazy("counted wrongly before")),
    ("measured", gettext_lazy("measured or weighed more exactly")),
    (OTHER, gettext_lazy("something else, in words")),
]
REASON_WORDS = dict(REASONS)


class StockTakeForm(forms.Form):
    """What was counted of each supply, and why it is not what the ledger says."""

    from_reserved = forms.BooleanField(
        label=gettext_lazy(
            "Where less is there than is reserved, the job accepted last goes without"
        ),
        required=False,
    )

    def __init__(self, *args: Any, supplies: Iterable[Supply], **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.supplies = list(supplies)
        for supply in self.supplies:
            self._add_row(supply)

    def _add_row(self, supply: Supply) -> None:
        key = supply.pk
        self.fields[f"said-{key}"] = forms.IntegerField(
            label=supply.name,
            widget=forms.HiddenInput,
            initial=on_hand(supply),
            min_value=0,
            max_value=2**62,
        )
        self.fields[f"counted-{key}"] = forms.DecimalField(
            label=supply.name,
            max_digits=10,
            decimal_places=3,
            required=False,
            min_value=Decimal(0),
            max_value=LARGEST_QUANTITY,
        )
        self.fields[f"reason-{key}"] = forms.ChoiceField(
            label=gettext_lazy("Why"), choices=REASONS, required=False
        )
        self.fields[f"words-{key}"] = forms.CharField(
            label=gettext_lazy("In words"),
            max_length=120,
            required=False,
            widget=forms.TextInput(attrs={"placeholder": _("in words")}),
        )

    def rows(self) -> list[tuple[Supply, dict[str, forms.BoundField]]]:
        """Return each supply with its fields by their first names."""
        names = ("said", "counted", "reason", "words")
        return [
            (supply, {name: self[f"{name}-{supply.pk}"] for name in names})
            for supply in self.supplies
        ]

    def clean(self) -> dict[str, Any]:
        """Ask why, where what was counted is not what the ledger said."""
        data = super().clean()
        for supply in self.supplies:
            counted, said = data.get(f"counted-{supply.pk}"), data.get(f"said-{supply.pk}")
            reason, words = f"reason-{supply.pk}", f"words-{supply.pk}"
            if counted is None and (data.get(reason) or data.get(words)):
                self._ask_count(f"counted-{supply.pk}")
            if counted is None or said is None:
                continue
            difference = int(counted * THOUSANDTHS) - said
            if difference and not data.get(reason) and reason not in self.errors:
                self.add_error(reason, _why(difference, supply))
            if data.get(reason) == OTHER and not data.get(words) and words not in self.errors:
                self.add_error(words, _("Say in a few words what it was."))
        return data

    def _ask_count(self, name: str) -> None:
        """Say of a row that says why but not how many that it would be lost."""
        if name not in self.errors:
            self.add_error(name, _("Say how many there are, or clear what stands beside it."))

    def counted(self) -> list[CountedSupply]:
        """Return the rows that were typed in."""
        data = self.cleaned_data
        return [
            CountedSupply(
                supply,
                data[f"counted-{supply.pk}"],
                data[f"said-{supply.pk}"],
                self._reason(supply),
            )
            for supply in self.supplies
            if data[f"counted-{supply.pk}"] is not None
        ]

    def _reason(self, supply: Supply) -> str:
        data = self.cleaned_data
        if int(data[f"counted-{supply.pk}"] * THOUSANDTHS) == data[f"said-{supply.pk}"]:
            return _("stock-take: as the ledger said")
        chosen, words = data[f"reason-{supply.pk}"], data[f"words-{supply.pk}"]
        parts = [words] if chosen == OTHER else [str(REASON_WORDS[chosen]), words]
        return _("stock-take: %(why)s") % {"why": ", ".join(part for part in parts if part)}

    def look_again(self) -> None:
        """Show what the ledger says now beside what was typed, after a shelf has changed."""
        data = self.data.copy()
        for supply in self.supplies:
            data[f"said-{supply.pk}"] = str(on_hand(supply))
        self.data = data


def on_hand(supply: Supply) -> int:
    """Return what the ledger says is on the shelf, in thousandths."""
    balance: StockBalance | None = getattr(supply, "balance", None)
    return 0 if balance is None else balance.on_hand


def _why(difference: int, supply: Supply) -> str:
    amount = counted_units(abs(difference), supply.unit)
    if difference > 0:
        return _("%(amount)s more than the ledger says: choose why.") % {"amount": amount}
    return _("%(amount)s less than the ledger says: choose why.") % {"amount": amount}
