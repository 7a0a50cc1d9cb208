"""What was asked: a job taken in, its message, dates and photographs, and changes of them."""

from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.forms.enquiry import CommissionForm, CommissionNoteForm, PhotoForm
from workshop.job_photos import job_photo_add, job_photo_remove, photo_given
from workshop.models import Commission, Customer, Doll, JobPhoto, WorkshopProfile
from workshop.services.orders import commission_take_in
from workshop.views.large import answers_too_much, told_too_long
from workshop.views.pages import record_form_page, take_errors

SUGGESTIONS = 100  # names offered while typing; older ones are still found by their code
LONGEST_MESSAGE = 8000


def _new_too_much(request: HttpRequest) -> HttpResponse:
    return _new_page(request, told_too_long(CommissionForm({}), "note", LONGEST_MESSAGE))


@answers_too_much(_new_too_much)
def job_new(request: HttpRequest) -> HttpResponse:
    """Take a job in; a doll without measures is measured next.

    ?doll= names for which doll; ?like= an earlier job whose newest quote is made again for it.
    """
    named = {"doll": request.GET.get("doll", "")[:20]}
    form = CommissionForm(request.POST or None, initial=named)
    like = _like(request)
    if request.method != "POST":
        return _new_page(request, form, like)
    try:
        is_valid, digest = form.is_valid(), photo_given(request)
    except ValidationError as error:
        take_errors(form, error)
        return _new_page(request, form, like)
    if not is_valid:
        return _new_page(request, form, like)
    try:
        commission = commission_take_in(
            customer=form.cleaned_data["customer_record"],
            doll=form.cleaned_data["doll_record"],
            wanted_on=form.cleaned_data["wanted_on"],
            note=form.cleaned_data["note"],
            country=form.cleaned_data["country"],
            budget=form.cleaned_data["budget"],
            form_key=form.cleaned_data["form_key"] or None,
            again_of=like,
            by=request.user,
        )
    except ValidationError as error:
        take_errors(form, error)
        return _new_page(request, form, like)
    if digest is not None:
        job_photo_add(commission, sha256=digest, by=request.user)
    if commission.doll is not None and not commission.doll.feet.exists():
        address = reverse("foot-new", args=[commission.doll_id])
        return redirect(f"{address}?{urlencode({'job': commission.pk})}")
    return redirect("job", commission.pk)


def _like(request: HttpRequest) -> Commission | None:
    """Return the job whose newest quote is to be made again; None where none is named."""
    asked = request.GET.get("like", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        return None
    quoted = Commission.objects.filter(doll__isnull=False, quotes__isnull=False)
    return quoted.select_related("doll").distinct().filter(pk=int(asked)).first()


def _new_page(
    request: HttpRequest, form: forms.BaseForm, like: Commission | None = None
) -> HttpResponse:
    context = {
        "form": form,
        "like": like,
        "currency": WorkshopProfile.current().currency,
        "customers": Customer.objects.order_by("-number")[:SUGGESTIONS],
        "dolls": Doll.objects.order_by("-number")[:SUGGESTIONS],
    }
    return render(request, "orders/job_new.html", context)


def _change_too_much(request: HttpRequest, job_id: int) -> HttpResponse:
    commission = get_object_or_404(Commission, pk=job_id)
    form = told_too_long(CommissionNoteForm({}, instance=commission), "note", LONGEST_MESSAGE)
    return render(request, "orders/job_change.html", {"form": form, "commission": commission})


@answers_too_much(_change_too_much)
def job_change(request: HttpRequest, job_id: int) -> HttpResponse:
    """Change the wanted date, the country, the budget and the message of a job."""
    commission = get_object_or_404(Commission, pk=job_id)
    return record_form_page(
        request,
        CommissionNoteForm(request.POST or None, instance=commission),
        template="orders/job_change.html",
        then=lambda record: reverse("job", args=[record.pk]),
        context={"commission": commission},
        columns=CommissionNoteForm.Meta.fields,
    )


def job_photos(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show the photographs of a job, and take another."""
    jobs = Commission.objects.select_related("doll", "customer")
    commission = get_object_or_404(jobs, pk=job_id)
    form = PhotoForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        try:
            is_valid, digest = form.is_valid(), photo_given(request)
            if digest is None:
                form.add_error("photo_file", _("Choose a photograph."))
            elif is_valid:
                note = form.cleaned_data["note"]
                job_photo_add(commission, sha256=digest, note=note, by=request.user)
                messages.success(request, _("The photograph is kept with the job."))
                return redirect("job-photos", job_id)
        except ValidationError as error:
            take_errors(form, error)
    photos = commission.photos.select_related("kept", "made_by")
    context = {"commission": commission, "form": form, "photos": photos}
    return render(request, "orders/photos.html", context)


def job_photo_off(request: HttpRequest, photo_id: int) -> HttpResponse:
    """Take a photograph off its job."""
    photo = get_object_or_404(JobPhoto, pk=photo_id)
    try:
        job_photo_remove(photo, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("job-photos", photo.commission_id)
