"""Addresses of the day plan and its settings; part of `workshop.urls`."""

from django.urls import path

from workshop.views import care_card, day_plan

urlpatterns = [
    path("day/", day_plan.day, name="day"),
    path("day/order/", day_plan.day_order, name="day-order"),
    path("settings/days/", day_plan.day_settings, name="day-settings"),
    path("jobs/<int:job_id>/care-card/", care_card.care_card, name="care-card"),
    path(
        "jobs/<int:job_id>/for-stock/care-card/<int:position>/",
        care_card.stock_care_card,
        name="stock-care-card",
    ),
]
