"""What a job owes and has paid: its payments, its bill and its credit notes."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.bill_values import bill_mail_of, bill_paper_of
from workshop.documents.bill_paper import bill_pdf
from workshop.doors import OWNER
from workshop.forms.payments import BillForm, CancelForm, ChangeRows, CreditForm, PaymentForm
from workshop.models import Bill, Commission, Payment, WorkshopProfile
from workshop.paging import list_page
from workshop.selectors.payments import account_of, bills_left, lines_left
from workshop.services.bills import bill_issue, credit_issue
from workshop.services.payments import payment_cancel, payment_write
from workshop.views.pages import take_errors
from workshop.views.papers import pdf_answer


def _job(job_id: int) -> Commission:
    return get_object_or_404(Commission.objects.select_related("doll", "customer"), pk=job_id)


def job_payments(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show what is owed, paid and open; write a payment down."""
    commission = _job(job_id)
    account = account_of(commission)
    payment = Payment(commission=commission)
    form = PaymentForm(request.POST or None, instance=payment, account=account)
    if request.method == "POST" and form.is_valid():
        try:
            payment_write(payment, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("The payment is written down."))
            return redirect("job-payments", job_id)
    left = bills_left(account.bills)
    context = {
        "commission": commission,
        "account": account,
        "form": form,
        "bills": [(bill, left.get(bill.pk)) for bill in account.bills],
    }
    return render(request, "orders/payments.html", context)


def payment_take_back(request: HttpRequest, payment_id: int) -> HttpResponse:
    """Take a payment back that was written in error."""
    payments = Payment.objects.select_related("commission__doll", "commission__customer")
    payment = get_object_or_404(payments, pk=payment_id)
    form = CancelForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            payment_cancel(payment, reason=form.cleaned_data["reason"], by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("The payment is taken back; it stays on the list."))
            return redirect("job-payments", payment.commission_id)
    context = {"commission": payment.commission, "payment": payment, "form": form}
    return render(request, "orders/payment_back.html", context)


def bill_new(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show the bill to come, take what was changed since, and issue it."""
    commission = _job(job_id)
    account = account_of(commission)
    if account.standing_bill is not None:
        messages.info(request, _("This job has its bill; a credit note takes it back."))
        return redirect("bill", account.standing_bill.pk)
    form = BillForm(request.POST or None, job=commission)
    rows = ChangeRows(request.POST or None, prefix="changes")
    if request.method == "POST" and all([form.is_valid(), rows.is_valid()]):
        try:
            bill = bill_issue(
                commission,
                changes=[row.change for row in rows if row.change is not None],
                delivered_on=form.cleaned_data["delivered_on"],
                note=form.cleaned_data["note"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(bill)s is issued.") % {"bill": bill.code})
            return redirect("bill", bill.pk)
    customer = commission.customer
    context = {
        "commission": commission,
        "account": account,
        "form": form,
        "rows": rows,
        "profile": WorkshopProfile.current(),
        "has_address": customer is not None and bool(customer.address),
    }
    return render(request, "orders/bill_new.html", context)


def bills(request: HttpRequest) -> HttpResponse:
    """List all bills and credit notes, newest first."""
    rows = Bill.objects.select_related("commission__doll", "bill")
    context = {"page": list_page(rows, request.GET.get("before", ""), key="id")}
    return render(request, "orders/bills.html", context)


def _bill(bill_id: int) -> Bill:
    bills = Bill.objects.select_related("commission__doll", "commission__customer", "bill")
    return get_object_or_404(bills, pk=bill_id)


def bill(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Show a bill or a credit note as it was issued."""
    record = _bill(bill_id)
    is_bill = record.kind == Bill.Kind.BILL
    left = bills_left([record, *record.credit_notes.all()]) if is_bill else {}
    context = {
        "bill": record,
        "paper": bill_paper_of(record),
        "commission": record.commission,
        "mail_text": bill_mail_of(record) if request.role == OWNER else "",
        "left": left.get(record.pk),
        "credit_notes": record.credit_notes.order_by("id"),
    }
    return render(request, "orders/bill.html", context)


def bill_paper(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Send a bill or a credit note as the customer gets it."""
    record = _bill(bill_id)
    content = bill_pdf(bill_paper_of(record), paper=WorkshopProfile.current().paper)
    return pdf_answer(content, record.file_name)


def credit_new(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Ask what of a bill is taken back and why, and issue the credit note."""
    record = _bill(bill_id)
    lines = lines_left(record)
    if record.kind != Bill.Kind.BILL or not any(left.amount for left in lines):
        messages.info(request, _("Nothing is left of it to take back."))
        return redirect("bill", bill_id)
    form = CreditForm(request.POST or None, lines=lines, currency=record.currency)
    if request.method == "POST" and form.is_valid():
        try:
            credit = credit_issue(
                record,
                amounts=form.amounts,
                reason=form.cleaned_data["reason"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(bill)s is issued.") % {"bill": credit.code})
            return redirect("bill", credit.pk)
    context = {"bill": record, "commission": record.commission, "form": form}
    return render(request, "orders/credit_new.html", context)
