"""Addresses of an order's payments, bills, parcels and repairs; part of `workshop.urls`."""

from django.urls import path

from workshop.views import enquiry, parcels, payments, repairs

urlpatterns = [
    path("jobs/<int:job_id>/photographs/", enquiry.job_photos, name="job-photos"),
    path("photographs/<int:photo_id>/off/", enquiry.job_photo_off, name="job-photo-off"),
    path("jobs/<int:job_id>/payments/", payments.job_payments, name="job-payments"),
    path("payments/<int:payment_id>/back/", payments.payment_take_back, name="payment-back"),
    path("jobs/<int:job_id>/bill/", payments.bill_new, name="bill-new"),
    path("bills/", payments.bills, name="bills"),
    path("bills/<int:bill_id>/", payments.bill, name="bill"),
    path("bills/<int:bill_id>/bill.pdf", payments.bill_paper, name="bill-paper"),
    path("bills/<int:bill_id>/take-back/", payments.credit_new, name="credit-new"),
    path("jobs/<int:job_id>/parcels/", parcels.job_parcels, name="job-parcels"),
    path("parcels/<int:parcel_id>/", parcels.parcel, name="parcel"),
    path("jobs/<int:job_id>/repair/new/", repairs.repair_new, name="repair-new"),
    path("jobs/<int:job_id>/repair/", repairs.repair, name="repair"),
    path("jobs/<int:job_id>/repair/change/", repairs.repair_change, name="repair-change"),
    path("jobs/<int:job_id>/repair/price/", repairs.repair_price_new, name="repair-price"),
    path("jobs/<int:job_id>/repair/answer/", repairs.repair_answer, name="repair-answer"),
    path("jobs/<int:job_id>/kept/", repairs.job_kept, name="job-kept"),
    path("kept/<int:kept_id>/back/", repairs.kept_back, name="kept-back"),
    path("repairs/", repairs.repairs, name="repairs"),
]
