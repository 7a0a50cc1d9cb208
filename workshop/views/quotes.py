"""A quote as the maker sees it: its figures, its link, the answer typed in."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from patterns.exchange.pieces_file import pieces_from_document
from workshop.addresses import reaches_customers
from workshop.doors import OWNER
from workshop.forms.orders import AnswerForm
from workshop.models import Quote
from workshop.paper_values import paper_of
from workshop.pictures import pieces_svg, quoted_shoe, shoe_svg
from workshop.selectors.promises import promise_words
from workshop.services.quotes import (
    LONGEST_ANSWER,
    is_expired,
    may_be_answered,
    quote_accept,
    quote_decline,
    quote_is_open,
    quote_renew_link,
    quote_revoke_link,
    quote_withdraw,
    revised_by,
)
from workshop.services.quoting import link_token
from workshop.tokens import token_hash
from workshop.views.large import answers_too_much, too_long_words
from workshop.views.pages import take_errors


def find_quote(quote_id: int) -> Quote:
    """Return a quote with its job, or answer 404."""
    quotes = Quote.objects.select_related("commission__customer", "commission__doll", "foot__doll")
    return get_object_or_404(quotes, pk=quote_id)


def link_of(request: HttpRequest, quote: Quote) -> str:
    """Return the full address of a quote's link, or nothing once it is closed."""
    token = link_token(quote)
    if quote.link_revoked_at is not None or token_hash(token) != quote.token_hash:
        return ""
    return request.build_absolute_uri(reverse("open-quote", args=[token]))


def link_in_letters(request: HttpRequest, quote: Quote) -> str:
    """Return the link as a letter names it: not one that its reader cannot open."""
    return link_of(request, quote) if reaches_customers(request.get_host()) else ""


def quote(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Show a quote with every figure behind it."""
    return _quote_page(request, find_quote(quote_id), AnswerForm())


def _quote_page(request: HttpRequest, record: Quote, form: AnswerForm) -> HttpResponse:
    is_owner = request.role == OWNER
    pieces = pieces_from_document(record.drawings["pieces"])
    link = link_of(request, record) if is_owner else ""
    context = {
        "quote": record,
        "snapshot": record.snapshot,
        "breakdown": record.snapshot["breakdown"],
        "promise": promise_words(record.snapshot.get("promise")),
        "boot": shoe_svg(quoted_shoe(record)),
        "drawing": pieces_svg(pieces),
        "link": link,
        "is_reached": reaches_customers(request.get_host()),
        "mail_text": paper_of(record, link=link_in_letters(request, record)).text
        if is_owner
        else "",
        "form": form,
        "is_open": quote_is_open(record),
        "may_be_answered": may_be_answered(record),
        "revised_by": revised_by(record) if record.state == Quote.State.OPEN else None,
        "is_expired": is_expired(record),
        "questions": record.messages.all(),
        "has_later": record.commission.quotes.filter(version__gt=record.version).exists(),
    }
    return render(request, "quotes/quote.html", context)


def _answer_too_much(request: HttpRequest, quote_id: int) -> HttpResponse:
    form = AnswerForm({})
    form.full_clean()
    form.errors.clear()
    form.add_error("note", too_long_words(LONGEST_ANSWER))
    return _quote_page(request, find_quote(quote_id), form)


@answers_too_much(_answer_too_much)
def quote_answer(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Type in the answer a customer gave by mail."""
    record, form = find_quote(quote_id), AnswerForm(request.POST)
    if not form.is_valid():
        return _quote_page(request, record, form)
    answer = quote_accept if form.cleaned_data["answer"] == "accepted" else quote_decline
    try:
        answer(
            record,
            by=request.user,
            way=form.cleaned_data["way"],
            note=form.cleaned_data["note"],
            on=form.cleaned_data["on"],
        )
    except ValidationError as error:
        record.refresh_from_db()
        if hasattr(error, "error_dict"):
            take_errors(form, error)
            return _quote_page(request, record, form)
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The answer is noted."))
    return redirect("quote", quote_id)


def quote_take_back(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Withdraw a quote."""
    try:
        quote_withdraw(find_quote(quote_id), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("quote", quote_id)


def quote_link(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Make a new link, or close the present one."""
    change = quote_revoke_link if request.POST.get("close") else quote_renew_link
    change(find_quote(quote_id), by=request.user)
    return redirect("quote", quote_id)
