"""Of which jobs the cutting sheets are wanted."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.models import Commission, Quote
from workshop.paper_work import MOST_SHEETS


def quotes_in_work() -> list[Quote]:
    """Return the accepted quotes of jobs accepted or in work, the oldest job first."""
    states = Commission.State
    open_states = (states.ACCEPTED, states.IN_WORK)
    found = (
        Quote.objects.filter(commission__state__in=open_states, state=Quote.State.ACCEPTED)
        .select_related("commission__doll")
        .order_by("commission__number")
    )
    return list(found[:MOST_SHEETS])


class SheetsForm(forms.Form):
    """A tick for each job in work; all are ticked at first."""

    quotes = forms.TypedMultipleChoiceField(
        label=_("Jobs"),
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Tick one job at least.")},
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.rows = quotes_in_work()
        self.fields["quotes"].choices = [
            (quote.pk, f"{quote.code} · {quote.commission.made_for} · {_style(quote)}")
            for quote in self.rows
        ]
        self.fields["quotes"].initial = [quote.pk for quote in self.rows]

    def quote_ids(self) -> list[int]:
        """Return the chosen quotes in the order of their jobs."""
        chosen = set(self.cleaned_data["quotes"])
        return [quote.pk for quote in self.rows if quote.pk in chosen]


def _style(quote: Quote) -> str:
    return str(quote.snapshot["style"]["name"])
