"""Alterations, repairs and remakes; the customer's goods in keeping; causes counted."""

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.forms.repairs import (
    CauseForm,
    KeptForm,
    PriceEntry,
    RepairAnswerForm,
    RepairForm,
    SentBackForm,
)
from workshop.job_photos import photo_given
from workshop.models import Commission, Kept, Repair, RepairPrice, Supply, WorkshopProfile
from workshop.paging import list_page
from workshop.selectors.repairs import causes_counted, causes_offered, goods_here, price_shown
from workshop.services.repairs import (
    goods_receive,
    goods_send_back,
    repair_agree,
    repair_price,
    repair_take_in,
)
from workshop.views.enquiry import LONGEST_MESSAGE
from workshop.views.large import answers_too_much, told_too_long
from workshop.views.pages import record_form_page, take_errors


def _job(job_id: int) -> Commission:
    return get_object_or_404(Commission.objects.select_related("doll", "customer"), pk=job_id)


def _repair(job_id: int) -> Repair:
    repairs = Repair.objects.select_related(
        "commission__doll", "commission__customer", "first_order__doll", "glue", "leather"
    )
    return get_object_or_404(repairs, commission=job_id)


def _new_too_much(request: HttpRequest, job_id: int) -> HttpResponse:
    first = _job(job_id)
    form = told_too_long(
        RepairForm({}, first=first, instance=Repair(first_order=first)), "note", LONGEST_MESSAGE
    )
    return _new_page(request, first, form)


@answers_too_much(_new_too_much)
def repair_new(request: HttpRequest, job_id: int) -> HttpResponse:
    """Take in an alteration, a repair or a remake of a job."""
    first = _job(job_id)
    record = Repair(first_order=first)
    form = RepairForm(request.POST or None, first=first, instance=record)
    if request.method == "POST" and form.is_valid():
        try:
            taken = repair_take_in(
                record,
                note=form.cleaned_data["note"],
                wanted_on=form.cleaned_data["wanted_on"],
                form_key=form.cleaned_data["form_key"] or None,
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            return redirect("repair", taken.commission_id)
    return _new_page(request, first, form)


def _new_page(request: HttpRequest, first: Commission, form: forms.BaseForm) -> HttpResponse:
    return render(request, "orders/repair_new.html", {"first": first, "form": form})


def repair(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a repair: what it comes of, its price, and what is in keeping for it."""
    return _repair_page(request, _repair(job_id))


def _repair_page(
    request: HttpRequest, record: Repair, form: RepairAnswerForm | None = None
) -> HttpResponse:
    newest = record.prices.order_by("-version").first()
    may_see_money = request.role in MONEY
    is_open = record.commission.state in Commission.OPEN_TO_QUOTES
    context = {
        "repair": record,
        "commission": record.commission,
        "shown": price_shown(newest) if may_see_money else None,
        "has_price": newest is not None,
        "answer": getattr(record, "answer", None),
        "is_open": is_open,
        "mail_text": _mail_text(record, newest)
        if newest is not None and is_open and may_see_money
        else "",
        "form": form or RepairAnswerForm(initial={"version": newest.version if newest else 0}),
        "kept": record.commission.kept.prefetch_related("photos"),
    }
    return render(request, "orders/repair.html", context)


def _mail_text(record: Repair, price: RepairPrice) -> str:
    """Return a repair's price as text to copy into a mail."""
    shown = price_shown(price)
    assert shown is not None
    profile = WorkshopProfile.current()
    customer = record.commission.customer
    words = {
        "name": customer.name if customer is not None else "",
        "what": record.get_kind_display(),
        "feet": record.get_feet_display(),
        "order": record.first_order.code,
        "doll": record.commission.made_for,
        "code": price.code,
        "price": f"{shown.breakdown.price} {shown.breakdown.currency}",
        "tax": f"{shown.breakdown.tax} {shown.breakdown.currency}",
    }
    lines = [_("Dear %(name)s,") % words, ""]
    lines.append(_("%(code)s: %(what)s of %(order)s, %(feet)s, for %(doll)s.") % words)
    if record.is_free:
        lines.append(_("This is free for you."))
    else:
        lines.append(_("It costs %(price)s in all.") % words)
        if shown.breakdown.tax:
            lines.append(_("Tax in it: %(tax)s.") % words)
    lines += ["", _("Please answer this mail and name %(code)s.") % words, "", profile.name]
    lines += profile.address.splitlines()
    return "\n".join(lines) + "\n"


def repair_change(request: HttpRequest, job_id: int) -> HttpResponse:
    """Change what a repair comes of; often it is known only once the work has begun."""
    record = _repair(job_id)
    return record_form_page(
        request,
        CauseForm(request.POST or None, instance=record),
        template="orders/repair_change.html",
        then=reverse("repair", args=[job_id]),
        context={"repair": record, "commission": record.commission},
        columns=CauseForm.Meta.fields,
    )


def repair_price_new(request: HttpRequest, job_id: int) -> HttpResponse:
    """Ask for a repair's minutes and material, and keep the price they come to."""
    record = _repair(job_id)
    newest = record.prices.order_by("-version").first()
    entry = PriceEntry(request.POST or None, record, newest)
    if request.method == "POST" and entry.is_valid():
        try:
            price = repair_price(record, **entry.values(), by=request.user)
        except ValidationError as error:
            take_errors(entry.form, error)
        else:
            messages.success(request, _("%(price)s is saved.") % {"price": price.code})
            return redirect("repair", job_id)
    context = {
        "repair": record,
        "commission": record.commission,
        "entry": entry,
        "steps": causes_offered(),
        "supplies": Supply.objects.order_by("name"),
    }
    return render(request, "orders/repair_price.html", context)


def _answer_too_much(request: HttpRequest, job_id: int) -> HttpResponse:
    return _repair_page(
        request, _repair(job_id), told_too_long(RepairAnswerForm({}), "note", LONGEST_MESSAGE)
    )


@answers_too_much(_answer_too_much)
def repair_answer(request: HttpRequest, job_id: int) -> HttpResponse:
    """Type in that the customer agreed."""
    record, form = _repair(job_id), RepairAnswerForm(request.POST)
    if not form.is_valid():
        return _repair_page(request, record, form)
    try:
        repair_agree(record, **form.cleaned_data, by=request.user)
    except ValidationError as error:
        take_errors(form, error)
        return _repair_page(request, _repair(job_id), form)
    messages.success(request, _("The answer is noted."))
    return redirect("repair", job_id)


def job_kept(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show the customer's goods in keeping for a job, and take more in."""
    commission = _job(job_id)
    kept = Kept(commission=commission)
    form = KeptForm(request.POST or None, instance=kept, with_money=request.role in MONEY)
    if request.method == "POST":
        try:
            is_valid, digest = form.is_valid(), photo_given(request)
            if is_valid:
                goods_receive(kept, photo=digest, by=request.user)
                messages.success(request, _("The goods are in keeping."))
                return redirect("job-kept", job_id)
        except ValidationError as error:
            take_errors(form, error)
    rows = commission.kept.select_related("made_by").prefetch_related("photos")
    context = {"commission": commission, "form": form, "kept": rows}
    return render(request, "orders/kept.html", context)


def kept_back(request: HttpRequest, kept_id: int) -> HttpResponse:
    """Note that goods in keeping went back."""
    rows = Kept.objects.select_related("commission__doll", "commission__customer")
    record = get_object_or_404(rows, pk=kept_id)
    form = SentBackForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            goods_send_back(
                record,
                on=form.cleaned_data["sent_back_on"],
                note=form.cleaned_data["sent_back_note"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("It is noted."))
            return redirect("job-kept", record.commission_id)
    context = {"kept": record, "commission": record.commission, "form": form}
    return render(request, "orders/kept_back.html", context)


def repairs(request: HttpRequest) -> HttpResponse:
    """Show all repairs, what they come of counted, and what is in keeping now."""
    rows = Repair.objects.select_related("commission__doll", "first_order", "glue", "leather")
    context = {
        "page": list_page(rows, request.GET.get("before", ""), key="id"),
        "counted": causes_counted(),
        "goods": goods_here(),
    }
    return render(request, "orders/repairs.html", context)
