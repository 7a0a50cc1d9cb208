"""All addresses. Each name must stand in the table of `workshop.doors`."""

from django.contrib import admin
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from workshop import stock_urls
from workshop.addresses import FIRST_LOGIN
from workshop.views import (
    account,
    background,
    corrections,
    customers,
    dolls,
    feet,
    home,
    lasts,
    library_files,
    meshes,
    open_quote,
    orders,
    papers,
    quotes,
    sizes,
)

urlpatterns = [
    *stock_urls.urlpatterns,
    path("", home.home, name="home"),
    path("cautions/", home.cautions, name="caution"),
    path("favicon.ico", home.favicon, name="favicon"),
    path("login/", LoginView.as_view(template_name="account/login.html"), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path(f"{FIRST_LOGIN}<str:token>/", account.first_login, name="first-login"),
    path("people/", account.people, name="people"),
    path("people/invite/", account.person_invite, name="person-invite"),
    path("people/<int:member_id>/", account.person_open_close, name="person-change"),
    path("settings/", account.settings_page, name="workshop-settings"),
    path("trail/", account.audit, name="audit"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer-new"),
    path("customers/<int:customer_id>/", customers.customer, name="customer"),
    path("customers/<int:customer_id>/change/", customers.customer_change, name="customer-change"),
    path("dolls/", dolls.dolls, name="dolls"),
    path("dolls/new/", dolls.doll_new, name="doll-new"),
    path("dolls/<int:doll_id>/", dolls.doll, name="doll"),
    path("dolls/<int:doll_id>/change/", dolls.doll_change, name="doll-change"),
    path("dolls/<int:doll_id>/measuring-card/", papers.measuring_card, name="measuring-card"),
    path("dolls/<int:doll_id>/feet/new/", feet.foot_new, name="foot-new"),
    path("dolls/<int:doll_id>/feet/check/", feet.foot_check, name="foot-check"),
    path("dolls/<int:doll_id>/feet/tracing/", feet.tracing_look, name="tracing-preview"),
    path("dolls/<int:doll_id>/feet/mesh/", meshes.foot_mesh, name="foot-mesh"),
    path("feet/<int:version_id>/", feet.foot, name="foot"),
    path("feet/<int:version_id>/last/", lasts.foot_last, name="foot-last"),
    path("feet/<int:version_id>/mesh.obj", meshes.mesh_file, name="foot-mesh-file"),
    path("sizes/", sizes.sizes, name="sizes"),
    path("sizes/grade/<int:version_id>/", sizes.size_grade, name="size-grade"),
    path("sizes/run/", sizes.size_run, name="size-run"),
    path("sizes/run/<int:work_id>/", sizes.size_run_shown, name="size-run-shown"),
    path("library/export/", library_files.library_export, name="library-export"),
    path("library/import/", library_files.library_import, name="library-import"),
    path("jobs/", orders.jobs, name="jobs"),
    path("jobs/new/", orders.job_new, name="job-new"),
    path("jobs/<int:job_id>/", orders.job, name="job"),
    path("jobs/<int:job_id>/change/", orders.job_change, name="job-change"),
    path("jobs/<int:job_id>/move/", orders.job_move, name="job-move"),
    path("jobs/<int:job_id>/layout/", orders.layout_begin, name="layout-begin"),
    path("jobs/<int:job_id>/effects/", orders.effects_begin, name="effects-begin"),
    path("jobs/<int:job_id>/quote/", orders.quote_save, name="quote-save"),
    path(
        "jobs/<int:job_id>/corrections/<int:style_id>/new/",
        corrections.correction_new,
        name="correction-new",
    ),
    path(
        "corrections/<int:correction_id>/withdraw/",
        corrections.correction_take_back,
        name="correction-withdraw",
    ),
    path("jobs/<int:job_id>/cutting-sheet/", papers.job_cutting_sheet, name="job-cutting-sheet"),
    path("jobs/<int:job_id>/mock-up/", papers.job_mock_up, name="job-mock-up"),
    path("jobs/<int:job_id>/layout-sheet/", papers.job_layout_sheet, name="job-layout-sheet"),
    path("jobs/<int:job_id>/breakdown/", papers.job_breakdown, name="job-breakdown"),
    path("jobs/<int:job_id>/pieces.<str:kind>", papers.job_file, name="job-file"),
    path("background/<int:work_id>/", background.background, name="background"),
    path("background/<int:work_id>/stop/", background.background_stop, name="background-stop"),
    path("background/<int:work_id>/again/", background.background_again, name="background-again"),
    path("quotes/<int:quote_id>/", quotes.quote, name="quote"),
    path("quotes/<int:quote_id>/answer/", quotes.quote_answer, name="quote-answer"),
    path("quotes/<int:quote_id>/withdraw/", quotes.quote_take_back, name="quote-withdraw"),
    path("quotes/<int:quote_id>/link/", quotes.quote_link, name="quote-link"),
    path("quotes/<int:quote_id>/quote.pdf", papers.quote_paper, name="quote-paper"),
    path("quotes/<int:quote_id>/cutting-sheet/", papers.quote_sheet, name="quote-cutting-sheet"),
    path("quotes/<int:quote_id>/breakdown/", papers.quote_breakdown, name="quote-breakdown"),
    path("q/<str:token>/", open_quote.open_quote, name="open-quote"),
    path("q/<str:token>/accept/", open_quote.open_quote_accept, name="open-quote-accept"),
    path("q/<str:token>/ask/", open_quote.open_quote_ask, name="open-quote-ask"),
    path("back-door/", admin.site.urls),
]

handler400 = "workshop.views.errors.bad_request"
handler403 = "workshop.views.errors.forbidden"
handler404 = "workshop.views.errors.not_found"
handler500 = "workshop.views.errors.server_error"
