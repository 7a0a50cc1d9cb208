"""Addresses of leather, supplies, styles and rates; part of `workshop.urls`."""

from django.urls import path

from workshop.views import cuttings, leather, rates, reservations, stock_take, styles, supplies

urlpatterns = [
    path("leather/", leather.leather, name="leather"),
    path("leather/new/", leather.lot_new, name="lot-new"),
    path("leather/<int:lot_id>/", leather.lot, name="lot"),
    path("leather/<int:lot_id>/change/", leather.lot_change, name="lot-change"),
    path("leather/<int:lot_id>/hides/new/", leather.hide_new, name="hide-new"),
    path("leather/<int:lot_id>/hides/preview/", leather.hide_preview, name="hide-preview"),
    path("leather/photographs/<str:digest>.jpg", leather.photograph, name="photograph"),
    path("hides/<int:hide_id>/", leather.hide, name="hide"),
    path("hides/<int:hide_id>/change/", leather.hide_change, name="hide-change"),
    path("hides/<int:hide_id>/label/", cuttings.hide_label, name="hide-label"),
    path("cuttings/<int:cutting_id>/", cuttings.cutting, name="cutting"),
    path("cuttings/<int:cutting_id>/undo/", cuttings.cutting_take_back, name="cutting-undo"),
    path("cuttings/<int:cutting_id>/labels/", cuttings.cutting_labels, name="cutting-labels"),
    path("jobs/<int:job_id>/reserved/", reservations.job_reserved, name="job-reserved"),
    path("jobs/<int:job_id>/reserved/reserve/", reservations.job_reserve, name="job-reserve"),
    path("jobs/<int:job_id>/reserved/release/", reservations.job_release, name="job-release"),
    path("jobs/<int:job_id>/reserved/deposit/", reservations.job_deposit, name="job-deposit"),
    path("supplies/", supplies.supplies, name="supplies"),
    path("supplies/count/", stock_take.stock_take_page, name="stock-take"),
    path("supplies/new/", supplies.supply_new, name="supply-new"),
    path("supplies/<int:supply_id>/", supplies.supply, name="supply"),
    path("supplies/<int:supply_id>/change/", supplies.supply_change, name="supply-change"),
    path("supplies/<int:supply_id>/book/", supplies.stock_move, name="stock-move"),
    path("styles/", styles.styles, name="styles"),
    path("styles/new/", styles.style_new, name="style-new"),
    path("styles/<int:style_id>/", styles.style, name="style"),
    path("styles/<int:style_id>/change/", styles.style_change, name="style-change"),
    path("styles/<int:style_id>/versions/new/", styles.style_version_new, name="style-version-new"),
    path("rates/", rates.rates, name="rates"),
    path("rates/new/", rates.rate_new, name="rate-new"),
    path("rates/<int:card_id>/", rates.rate, name="rate"),
]
