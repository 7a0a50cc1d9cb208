"""Addresses of papers of an order and of printing; part of `workshop.urls`."""

from django.urls import path

from workshop.views import bundles, guides, papers, printers

# Where each paper of an order is asked for, which it is in `workshop.order_papers`, and its door.
JOB_PAPERS = (
    ("cutting-sheet/", "cutting-sheet.pdf", "job-cutting-sheet"),
    ("card-templates/", "card-templates.pdf", "job-card-templates"),
    ("mock-up/", "mock-up.pdf", "job-mock-up"),
    ("try-on/", "try-on.pdf", "job-try-on"),
    ("layout-sheet/", "hide.pdf", "job-layout-sheet"),
    ("layout-tiles/", "layout-tiles.pdf", "job-layout-tiles"),
    ("guide/", "making-guide.pdf", "job-guide"),
    ("label/", "label.pdf", "job-label"),
    ("breakdown/", "breakdown.pdf", "job-breakdown"),
)

urlpatterns = [
    path("settings/printers/", printers.printers, name="printers"),
    path("settings/printers/use/", printers.printer_take, name="printer-in-use"),
    path("settings/printers/page.pdf", printers.calibration_page, name="calibration-page"),
    path("dolls/<int:doll_id>/measuring-card/", papers.measuring_card, name="measuring-card"),
    *(
        path(f"jobs/<int:job_id>/{at}", papers.job_paper, {"name": paper}, name=name)
        for at, paper, name in JOB_PAPERS
    ),
    path("jobs/<int:job_id>/<str:what>.<str:kind>", papers.job_file, name="job-file"),
    path("jobs/<int:job_id>/all/", bundles.job_bundle, name="job-bundle"),
    path("jobs/<int:job_id>/all/file/", bundles.job_bundle_file, name="job-bundle-file"),
    path("sheets/", bundles.sheets, name="sheets"),
    path("sheets/<int:work_id>/", bundles.sheets_shown, name="sheets-shown"),
    path("sheets/<int:work_id>/file/", bundles.sheets_file, name="sheets-file"),
    path("for-sale/<int:article_id>/guide/", guides.article_guide, name="article-guide"),
    path("quotes/<int:quote_id>/quote.pdf", papers.quote_paper, name="quote-paper"),
    path("quotes/<int:quote_id>/cutting-sheet/", papers.quote_sheet, name="quote-cutting-sheet"),
    path("quotes/<int:quote_id>/breakdown/", papers.quote_breakdown, name="quote-breakdown"),
]
