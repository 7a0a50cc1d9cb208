"""Addresses about people: the second step of logging in, what is stored about them, erasing."""

from django.urls import path

from workshop.views import account, privacy, second_factor

urlpatterns = [
    path("login/second/", second_factor.second_step, name="second-step"),
    path("login/own/second/", second_factor.second_factor, name="second-factor"),
    path("people/invited/<int:link_id>/end/", account.invitation_end, name="invitation-end"),
    path("settings/privacy/", privacy.privacy, name="privacy"),
    path("customers/<int:customer_id>/all/", privacy.customer_given_out, name="customer-export"),
    path("customers/<int:customer_id>/erase/", privacy.customer_erased, name="customer-erase"),
]
