"""The stock-take: a shelf's list to print, to type counted figures in, and to save at once."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from workshop.forms.stock_take import StockTakeForm, on_hand
from workshop.models import StockMove, Supply
from workshop.services.stock_take import stock_take
from workshop.templatetags.stock_words import signed_units
from workshop.views.pages import take_errors

ROWS = 100  # on one list: a form of four fields each that is still quick to send


def stock_take_page(request: HttpRequest) -> HttpResponse:
    """List a shelf, ?kind= for one kind, ?from= for the rows after the first hundred; save it."""
    kind = request.GET.get("kind", "")
    kind = kind if kind in Supply.Kind.values else ""
    start = _number(request.GET.get("from", ""))
    shelf = _shelf(kind)
    if request.method == "POST":
        form = StockTakeForm(request.POST, supplies=_sent(request.POST))
        if form.is_valid() and _saved(request, form):
            query = f"?kind={kind}" if kind else ""
            return redirect(f"{reverse('stock-take')}{query}")
    else:
        form = StockTakeForm(supplies=shelf[start : start + ROWS])
    count = shelf.count()
    context = {
        "form": form,
        "rows": [(supply, on_hand(supply), fields) for supply, fields in form.rows()],
        "kind": kind,
        "kinds": Supply.Kind.choices,
        "next_from": start + ROWS if start + ROWS < count else 0,
        "count": count,
    }
    return render(request, "supplies/stock_take.html", context)


def _shelf(kind: str) -> QuerySet[Supply]:
    supplies = Supply.objects.select_related("balance").order_by("kind", "name", "pk")
    return supplies.filter(kind=kind) if kind else supplies


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0


def _sent(sent: QueryDict) -> QuerySet[Supply]:
    """Return the supplies a sent list has rows of, whatever was added to the shelf meanwhile."""
    keys = [name.removeprefix("said-") for name in sent if name.startswith("said-")]
    return _shelf("").filter(pk__in=[int(k) for k in keys[:ROWS] if _number(k)])


def _saved(request: HttpRequest, form: StockTakeForm) -> bool:
    try:
        moves = stock_take(
            form.counted(),
            by=request.user,
            from_reserved=form.cleaned_data["from_reserved"],
        )
    except ValidationError as error:
        take_errors(form, error)
        form.look_again()
        return False
    _say(request, moves)
    return True


def _say(request: HttpRequest, moves: list[StockMove]) -> None:
    if not moves:
        messages.info(request, _("Nothing was typed in, so nothing was counted."))
        return
    text = ngettext("%(n)d supply is counted.", "%(n)d supplies are counted.", len(moves))
    said = [text % {"n": len(moves)}]
    said += [
        f"{move.supply.name}: {signed_units(move.on_hand_change)}"
        f"\u00a0{move.supply.get_unit_display()}."
        for move in moves
        if move.on_hand_change
    ]
    messages.success(request, " ".join(said))
