"""Addresses of papers of an order and of printing; part of `workshop.urls`."""

from django.urls import path

from workshop.views import guides, papers, printers, try_on

urlpatterns = [
    path("settings/printers/", printers.printers, name="printers"),
    path("settings/printers/use/", printers.printer_take, name="printer-in-use"),
    path("settings/printers/page.pdf", printers.calibration_page, name="calibration-page"),
    path("dolls/<int:doll_id>/measuring-card/", papers.measuring_card, name="measuring-card"),
    path("jobs/<int:job_id>/cutting-sheet/", papers.job_cutting_sheet, name="job-cutting-sheet"),
    path("jobs/<int:job_id>/mock-up/", papers.job_mock_up, name="job-mock-up"),
    path("jobs/<int:job_id>/try-on/", try_on.job_try_on, name="job-try-on"),
    path("jobs/<int:job_id>/layout-sheet/", papers.job_layout_sheet, name="job-layout-sheet"),
    path("jobs/<int:job_id>/guide/", guides.job_guide, name="job-guide"),
    path("for-sale/<int:article_id>/guide/", guides.article_guide, name="article-guide"),
    path("jobs/<int:job_id>/breakdown/", papers.job_breakdown, name="job-breakdown"),
    path("jobs/<int:job_id>/pieces.<str:kind>", papers.job_file, name="job-file"),
    path("quotes/<int:quote_id>/quote.pdf", papers.quote_paper, name="quote-paper"),
    path("quotes/<int:quote_id>/cutting-sheet/", papers.quote_sheet, name="quote-cutting-sheet"),
    path("quotes/<int:quote_id>/breakdown/", papers.quote_breakdown, name="quote-breakdown"),
]
