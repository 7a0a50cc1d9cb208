"""What a page asks for again and again is read once, and never after it has changed."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from workshop.models import WorkshopProfile
from workshop.read_once import ReadOnceMiddleware

pytestmark = pytest.mark.django_db


def while_showing(method, view):
    """Answer one request by a view, as a page is answered."""
    request = RequestFactory().generic(method, "/")
    return ReadOnceMiddleware(lambda _request: HttpResponse(view()))(request)


@pytest.mark.parametrize(("method", "queries"), [("GET", 1), ("HEAD", 1), ("POST", 3)])
def test_only_a_page_that_is_asked_for_remembers(django_assert_num_queries, method, queries):
    WorkshopProfile.current()
    with django_assert_num_queries(queries):
        while_showing(method, lambda: [WorkshopProfile.current() for _ in range(3)])


def test_nothing_is_remembered_from_one_page_to_the_next(django_assert_num_queries):
    WorkshopProfile.current()
    with django_assert_num_queries(2):
        for _ in range(2):
            while_showing("GET", WorkshopProfile.current)
    with django_assert_num_queries(2):
        WorkshopProfile.current()
        WorkshopProfile.current()


@pytest.mark.parametrize("change", ["saved", "deleted"])
def test_a_record_that_changes_on_the_way_is_read_again(change):
    def view():
        before = WorkshopProfile.current()
        if change == "saved":
            other = WorkshopProfile.objects.get()
            other.currency = "USD"
            other.save()
        else:
            before.delete()
        return WorkshopProfile.current().currency

    WorkshopProfile.objects.update_or_create(pk=1, defaults={"currency": "GBP"})
    expected = {"saved": b"USD", "deleted": b"EUR"}[change]  # EUR is that of a row made anew
    assert while_showing("GET", view).content == expected


def test_a_page_that_breaks_leaves_nothing_remembered(django_assert_num_queries):
    def view():
        WorkshopProfile.current()
        raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        while_showing("GET", view)
    with django_assert_num_queries(1):
        WorkshopProfile.current()
