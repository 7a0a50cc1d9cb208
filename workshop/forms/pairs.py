"""Forms of finished pairs: those made without an order, and each step of one."""

import datetime
import re
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.models import Article, Customer, FinishedPair, PlaceOfSale, Style
from workshop.services.pairs import MOST_AT_ONCE

MOST_MONEY = Decimal(1_000_000)
EARLIEST = datetime.date(2000, 1, 1)
CUSTOMER_CODE = re.compile(r"\s*C-?0*(\d{1,9})\b", re.ASCII | re.IGNORECASE)


class MoneyField(forms.DecimalField):
    """An amount of money, zero or more."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            max_digits=12, decimal_places=4, min_value=Decimal(0), max_value=MOST_MONEY, **options
        )


class DayField(forms.DateField):
    """A day that has come."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def __init__(self, **options: Any) -> None:
        super().__init__(initial=timezone.localdate, **options)

    def clean(self, value: Any) -> Any:
        """Refuse a day that has not come yet, or is long before there was a workshop."""
        day = super().clean(value)
        if day is not None and not EARLIEST <= day <= timezone.localdate():
            raise forms.ValidationError(_("Write a day from the year 2000 on that has come."))
        return day


class PairsMadeForm(forms.Form):
    """Pairs made without an order: what they are, what each cost, and what is asked for it."""

    article = forms.ModelChoiceField(
        label=gettext_lazy("Article on the list"),
        queryset=Article.objects.filter(kind=Article.Kind.PAIR, is_offered=True).select_related(
            "style__style", "foot__doll", "lot"
        ),
        required=False,
        empty_label=gettext_lazy("none"),
        help_text=gettext_lazy("Fills in what is left empty below, by its price on the list."),
    )
    name = forms.CharField(
        label=gettext_lazy("What it is"),
        max_length=160,
        required=False,
        help_text=gettext_lazy("Style, size, leather and colour."),
    )
    style = forms.ModelChoiceField(
        label=gettext_lazy("Style"),
        queryset=Style.objects.order_by("name"),
        required=False,
        empty_label=gettext_lazy("none named"),
        help_text=gettext_lazy("By which a month sums up what was earned."),
    )
    count = forms.IntegerField(
        label=gettext_lazy("Pairs"), min_value=1, max_value=MOST_AT_ONCE, initial=1
    )
    cost = MoneyField(
        label=gettext_lazy("What a pair cost"),
        required=False,
        help_text=gettext_lazy("Material, work and overhead."),
    )
    asked = MoneyField(label=gettext_lazy("Price asked"), required=False)
    made_on = DayField(label=gettext_lazy("Made on"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["article"].label_from_instance = article_words

    def clean(self) -> dict[str, Any]:
        """Fill in by the article, and ask for what it does not say."""
        data = super().clean()
        article = data.get("article")
        price = article.prices.first() if article is not None else None
        offered = {
            "name": article_words(article) if article is not None else "",
            "cost": price.cost if price is not None else None,
            "asked": price.price if price is not None else None,
        }
        for name, value in offered.items():
            if data.get(name) in (None, "") and name not in self.errors:
                data[name] = value
                if value in (None, ""):
                    self.add_error(name, _("Write this, or choose an article that says it."))
        return data


def article_words(article: Article) -> str:
    """Return what an article is: its style, size, leather and colour."""
    parts = [article.style.style.name]
    if article.foot is not None:
        parts.append(article.foot.doll.name)
    if article.lot is not None:
        parts += [article.lot.name, article.lot.colour]
    return ", ".join(parts)[:160]


class TakeForm(forms.Form):
    """To which stall, and when."""

    place = forms.ModelChoiceField(
        label=gettext_lazy("Stall"), queryset=PlaceOfSale.objects.filter(is_offered=True)
    )
    day = DayField(label=gettext_lazy("Day"))


class BackForm(forms.Form):
    """When it came back from the stall."""

    day = DayField(label=gettext_lazy("Day"))


class ReserveForm(forms.Form):
    """For whom a pair is kept, by the customer's code."""

    customer = forms.CharField(
        label=gettext_lazy("For whom"),
        max_length=120,
        help_text=gettext_lazy("The customer's code, such as C-0012."),
        widget=forms.TextInput(attrs={"list": "customers", "autocomplete": "off"}),
    )

    def clean_customer(self) -> Customer:
        """Return the customer of a code, whatever is written after it."""
        found = CUSTOMER_CODE.match(self.cleaned_data["customer"])
        customer = Customer.objects.filter(number=int(found[1])).first() if found else None
        if customer is None:
            raise forms.ValidationError(_("No customer has that code; look it up under Customers."))
        return customer


class SellForm(forms.Form):
    """What was paid, where, and what the place keeps of it."""

    price = MoneyField(label=gettext_lazy("Paid in all"), help_text=gettext_lazy("Tax included."))
    place = forms.ModelChoiceField(
        label=gettext_lazy("Sold at"),
        queryset=PlaceOfSale.objects.filter(is_offered=True),
        required=False,
        empty_label=gettext_lazy("the workshop"),
    )
    fee = MoneyField(
        label=gettext_lazy("Fee of the place"),
        required=False,
        help_text=gettext_lazy("Left empty, by the place's fees under Rates."),
    )
    day = DayField(label=gettext_lazy("Day"))

    def __init__(self, *args: Any, pair: FinishedPair, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial |= {"price": f"{pair.asked.normalize():f}", "place": pair.place_id}
        if pair.state == FinishedPair.State.AWAY:
            del self.fields["place"]  # it is at its stall, and is sold there

    def clean(self) -> dict[str, Any]:
        """Refuse a fee above the price."""
        data = super().clean()
        price, fee = data.get("price"), data.get("fee")
        if price is not None and fee is not None and fee > price:
            self.add_error("fee", _("That is more than was paid."))
        return data


class MarkDownForm(forms.Form):
    """The lower price, and why."""

    price = MoneyField(label=gettext_lazy("Price asked from now on"))
    note = forms.CharField(label=gettext_lazy("Why"), max_length=200, required=False)


class ReturnForm(forms.Form):
    """A pair that came back from its buyer, who got the money back."""

    day = DayField(label=gettext_lazy("Day"))
    is_fee_back = forms.BooleanField(
        label=gettext_lazy("The place gave its fee back"), required=False
    )
    note = forms.CharField(label=gettext_lazy("Why"), max_length=200, required=False)
