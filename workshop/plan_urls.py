"""Addresses of planning by hand and of cut lists; part of `workshop.urls`."""

from django.urls import path

from workshop.views import cut_lists, plans

urlpatterns = [
    path("jobs/<int:job_id>/plan/", plans.plan, name="plan"),
    path("jobs/<int:job_id>/cut-list/", cut_lists.cut_list, name="cut-list"),
    path("cut-lists/<int:list_id>/sheet/", cut_lists.cut_list_sheet, name="cut-list-sheet"),
    path("cut-lists/<int:list_id>/tick/", cut_lists.tick_all, name="cut-list-tick"),
    path("cut-lists/<int:list_id>/place/<int:hide_id>/", plans.recut, name="cut-list-place"),
    path("cut-lists/<int:list_id>/end/<int:hide_id>/", cut_lists.cut_end, name="cut-list-end"),
    path("cut-lines/<int:line_id>/tick/", cut_lists.tick, name="cut-line-tick"),
    path("cut-lines/<int:line_id>/back/", cut_lists.take_back, name="cut-line-back"),
    path("cut-lines/<int:line_id>/scrap/", cut_lists.scrap, name="cut-line-scrap"),
    path("cut-lines/<int:line_id>/hide/", cut_lists.line_hide, name="cut-line-hide"),
]
