"""The one page a customer sees, by link and without a login."""

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from workshop.forms.orders import QuestionForm
from workshop.models import Quote
from workshop.paper_values import paper_of
from workshop.services.quotes import (
    is_expired,
    quote_accept,
    quote_ask,
    quote_by_token,
    quote_is_open,
    refusal,
)
from workshop.views.large import answers_too_much, too_long_words
from workshop.views.pages import take_errors

LONGEST_QUESTION = 2000


@never_cache
def open_quote(request: HttpRequest, token: str) -> HttpResponse:
    """Show an open or accepted quote; anything else says so and shows nothing more."""
    quote = quote_by_token(token)
    closed = _closed(request, quote)
    return closed or _page(request, quote, token, QuestionForm())


@never_cache
def open_quote_accept(request: HttpRequest, token: str) -> HttpResponse:
    """Accept, once."""
    quote = quote_by_token(token)
    closed = _closed(request, quote)
    if closed:
        return closed
    try:
        quote_accept(quote, by=None)
    except ValidationError as error:
        quote.refresh_from_db()
        if quote.state != Quote.State.ACCEPTED:
            return _said(request, " ".join(error.messages), status=409)
    return redirect("open-quote", token)


def _ask_too_much(request: HttpRequest, token: str) -> HttpResponse:
    quote = quote_by_token(token)
    closed = _closed(request, quote)
    if closed:
        return closed
    form = QuestionForm({})
    form.full_clean()
    form.errors.clear()
    form.add_error("text", too_long_words(LONGEST_QUESTION))
    return _page(request, quote, token, form)


@answers_too_much(_ask_too_much)
@never_cache
def open_quote_ask(request: HttpRequest, token: str) -> HttpResponse:
    """Leave a question for the maker."""
    quote = quote_by_token(token)
    closed = _closed(request, quote)
    if closed:
        return closed
    form = QuestionForm(request.POST)
    if form.is_valid():
        try:
            quote_ask(quote, text=form.cleaned_data["text"])
            return redirect("open-quote", token)
        except ValidationError as error:
            take_errors(form, error)
    return _page(request, quote, token, form)


def _closed(request: HttpRequest, quote: Quote | None) -> HttpResponse | None:
    if quote is None:
        return _said(request, "", status=404)
    if quote_is_open(quote) or quote.state == Quote.State.ACCEPTED:
        return None
    return _said(request, refusal(quote), status=410)


def _said(request: HttpRequest, reason: str, *, status: int) -> HttpResponse:
    return render(request, "quotes/closed.html", {"reason": reason}, status=status)


def _page(request: HttpRequest, quote: Quote, token: str, form: QuestionForm) -> HttpResponse:
    context = {
        "quote": quote,
        "token": token,
        "paper": paper_of(quote),
        "form": form,
        "is_open": quote_is_open(quote),
        "is_expired": is_expired(quote),
        "questions": quote.messages.all(),
    }
    return render(request, "quotes/open.html", context)
