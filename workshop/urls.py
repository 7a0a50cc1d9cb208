"""All addresses. Each name must stand in the table of `workshop.doors`."""

from django.contrib import admin
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from workshop.views import account, home

urlpatterns = [
    path("", home.home, name="home"),
    path("cautions/", home.cautions, name="caution"),
    path("favicon.ico", home.favicon, name="favicon"),
    path("login/", LoginView.as_view(template_name="account/login.html"), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("first-login/<str:token>/", account.first_login, name="first-login"),
    path("people/", account.people, name="people"),
    path("people/invite/", account.person_invite, name="person-invite"),
    path("people/<int:member_id>/", account.person_open_close, name="person-change"),
    path("settings/", account.settings_page, name="workshop-settings"),
    path("trail/", account.audit, name="audit"),
    path("back-door/", admin.site.urls),
]

handler400 = "workshop.views.errors.bad_request"
handler403 = "workshop.views.errors.forbidden"
handler404 = "workshop.views.errors.not_found"
handler500 = "workshop.views.errors.server_error"
