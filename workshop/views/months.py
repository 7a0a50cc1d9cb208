"""The month's report, the stock on a day, and both as tables for the bookkeeper."""

import datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from workshop.month_files import TABLES, stock_table
from workshop.selectors.months import Span, month_named, month_report


def month(request: HttpRequest) -> HttpResponse:
    """Show a month, ?month=2026-11, and the stock on a day, ?day=2026-11-30."""
    span = month_named(request.GET.get("month", ""))
    day, is_faulty = _day(request, span)
    context = {
        "month": (report := month_report(span, stock_day=day)),
        "stock": report.stock,
        "day_faulty": is_faulty,
        "tables": list(TABLES),
    }
    return render(request, "work/month.html", context)


def month_file(request: HttpRequest, table: str) -> HttpResponse:
    """Send one table of a month."""
    if table not in TABLES:
        raise Http404
    span = month_named(request.GET.get("month", ""))
    return _sent(TABLES[table](span), f"{table}-{span.key}.csv")


def stock_file(request: HttpRequest) -> HttpResponse:
    """Send the stock on a day as a table."""
    day, _is_faulty = _day(request, month_named(request.GET.get("month", "")))
    return _sent(stock_table(day), f"stock-{day.isoformat()}.csv")


def _day(request: HttpRequest, span: Span) -> tuple[datetime.date, bool]:
    """Return the day asked for, and whether what was typed is none; left out, the month's last."""
    today = timezone.localdate()
    last = min(span.last, today)
    typed = request.GET.get("day", "")
    try:
        day = datetime.date.fromisoformat(typed) if typed else last
    except ValueError:
        return last, True
    if not datetime.date(2000, 1, 1) <= day <= today:
        return last, True
    return day, False


def _sent(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
