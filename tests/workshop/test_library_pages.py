"""Customers and dolls: found, paged at a fixed cost, made and changed with a trail."""

from urllib.parse import urlencode

import pytest
from django.urls import reverse

from workshop.models import AuditEntry, Customer, Doll
from workshop.paging import PAGE_ROWS
from workshop.services.records import record_save


def add_dolls(count, **values):
    for number in range(count):
        record_save(Doll(name=f"House {number}", **values), by=None)


def test_a_doll_without_a_customer_is_a_house_size(owner_client, db):
    owner_client.post("/dolls/new/", {"name": "House 75", "material": "resin", "feet_kind": "flat"})
    assert Doll.objects.get().customer is None
    assert "house size" in owner_client.get("/dolls/").content.decode()
    assert "House 75" in owner_client.get("/dolls/?house=1").content.decode()


@pytest.mark.parametrize("typed", ["C-0001", "c-1", "1", "C-0001 Merle Oakhollow"])
def test_a_customer_is_named_by_code(owner_client, customer, typed):
    values = {"name": "Juniper", "material": "resin", "feet_kind": "flat", "customer": typed}
    owner_client.post("/dolls/new/", values)
    found = Doll.objects.filter(name="Juniper", customer=customer).exists()
    # A bare number is no code: it could as well be a doll's.
    assert found == typed.lower().startswith("c")


def test_an_unknown_customer_is_named_beside_the_box(owner_client, db):
    values = {"name": "Juniper", "material": "resin", "feet_kind": "flat", "customer": "C-0099"}
    answer = owner_client.post("/dolls/new/", values)
    assert answer.status_code == 200
    assert "C-0099" in answer.context["form"].errors["customer"][0]
    assert not Doll.objects.exists()


@pytest.mark.parametrize(
    ("text", "found"),
    [("juni", True), ("D-0001", True), ("d-1", True), ("oakhol", True), ("C-0001", True),
     ("merle@", False), ("D-0002", False), ("nobody", False)],
)  # fmt: skip
def test_dolls_are_found_by_name_code_and_customer(owner_client, doll, text, found):
    rows = owner_client.get("/dolls/", {"q": text}).context["page"].rows
    assert [row.code for row in rows] == (["D-0001"] if found else [])


@pytest.mark.parametrize(
    ("text", "found"), [("oakhol", True), ("merle@ex", True), ("c-0001", True), ("D-0001", False)]
)
def test_customers_are_found_by_name_mail_and_code(owner_client, customer, text, found):
    assert bool(owner_client.get("/customers/", {"q": text}).context["page"].rows) == found


@pytest.mark.parametrize("text", ["%", "_", "\x00zq", "'; drop", "9" * 300, "D-" + "9" * 50])
def test_a_search_for_anything_odd_finds_nothing_and_breaks_nothing(owner_client, doll, text):
    for address in ("/dolls/", "/customers/"):
        answer = owner_client.get(address, {"q": text, "before": text})
        assert answer.status_code == 200
        assert answer.context["page"].rows == []


def test_lists_are_paged_by_number_without_gaps(owner_client, db):
    add_dolls(PAGE_ROWS + 3)
    first = owner_client.get("/dolls/").context["page"]
    second = owner_client.get("/dolls/", {"before": first.next_before}).context["page"]
    codes = [row.code for row in (*first.rows, *second.rows)]
    assert len(codes) == len(set(codes)) == PAGE_ROWS + 3
    assert second.next_before is None


@pytest.mark.parametrize("count", [1, 30])
def test_a_list_of_dolls_costs_the_same_queries_however_long(
    owner_client, customer, count, django_assert_num_queries
):
    add_dolls(count, customer=customer)
    owner_client.get("/dolls/")
    # One each for the login, the user, the member and the list.
    with django_assert_num_queries(4):
        owner_client.get("/dolls/")
    with django_assert_num_queries(4):
        owner_client.get("/customers/")


@pytest.mark.parametrize("count", [1, 12])
def test_a_dolls_page_costs_the_same_queries_however_often_it_was_measured(
    owner_client, doll, owner, count, django_assert_num_queries
):
    from workshop.models import FootVersion, WorkshopProfile

    WorkshopProfile.current()  # the installation's first page makes it
    for version in range(1, count + 1):
        FootVersion(doll=doll, version=version, foot_length=75, reason="x", made_by=owner).save()
    owner_client.get(f"/dolls/{doll.pk}/")  # from here on it is what was looked at last
    # The login, user, member and workshop; the doll, its feet, its jobs, its measuring links; and
    # what was looked at last.
    with django_assert_num_queries(9):
        owner_client.get(f"/dolls/{doll.pk}/")
    newest = FootVersion.objects.first()
    with django_assert_num_queries(6):
        owner_client.get(f"/feet/{newest.pk}/")


def test_a_change_leaves_before_and_after_on_the_trail(owner_client, owner, customer):
    address = f"/customers/{customer.pk}/change/"
    owner_client.post(address, {"name": "Merle Thornfield", "email": customer.email})
    entry = AuditEntry.objects.filter(record_kind="customer").first()
    assert entry.who == owner
    assert (entry.before["name"], entry.after["name"]) == ("Merle Oakhollow", "Merle Thornfield")


@pytest.mark.parametrize(
    ("name", "typed"),
    [("name", ""), ("name", "x" * 121), ("email", "not a mail"), ("note", "x" * 4001),
     ("name", "a\x00b"), ("phone", "1" * 41)],
)  # fmt: skip
def test_a_bad_customer_is_named_beside_the_box_and_not_stored(owner_client, db, name, typed):
    answer = owner_client.post("/customers/new/", {"name": "Merle", **{name: typed}})
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [name]
    assert not Customer.objects.exists()


def test_words_of_others_are_shown_as_text(owner_client, customer):
    customer.name = customer.note = "<script>alert(1)</script>"
    customer.save()
    record_save(Doll(name="<b>x</b>", customer=customer, note="<i>n</i>"), by=None)
    for address in ("/customers/", f"/customers/{customer.pk}/", "/dolls/", "/dolls/1/",
                    "/dolls/1/change/", "/dolls/1/feet/new/"):  # fmt: skip
        body = owner_client.get(address).content.decode()
        assert "<script>" not in body
        assert "<b>x" not in body
        assert "<i>n" not in body


@pytest.mark.parametrize("address", ["/customers/99/", "/dolls/99/", "/feet/99/",
                                     "/dolls/99/feet/new/", "/dolls/99/change/"])  # fmt: skip
def test_a_record_that_is_not_there_is_a_plain_404(owner_client, address):
    assert owner_client.get(address).status_code == 404


@pytest.mark.parametrize("kind", ["customer", "doll"])
@pytest.mark.parametrize("is_new", [True, False])
def test_a_note_of_megabytes_is_told_beside_its_field_and_nothing_is_lost(
    owner_client, customer, doll, kind, is_new
):
    record = customer if kind == "customer" else doll
    record.note = "as it was"
    record.save()
    address = reverse(f"{kind}-new") if is_new else reverse(f"{kind}-change", args=[record.pk])
    sent = {"name": "Somebody else", "material": "vinyl", "note": "x" * 5_000_000}
    answer = owner_client.post(
        address, urlencode(sent), content_type="application/x-www-form-urlencoded"
    )
    form = answer.context["form"]
    assert (answer.status_code, list(form.errors)) == (200, ["note"])
    assert "far too long to be taken; at most 4000" in str(form.errors)
    # What was typed beside it stands there still; what was stored is as it was.
    assert form["name"].value() == "Somebody else"
    assert (form["note"].value() or "") == ("" if is_new else "as it was")
    if kind == "doll" and not is_new:
        assert str(form["customer"].value()).startswith("C-")
    stored = type(record).objects.get()
    assert (stored.name, stored.note) != ("Somebody else", "")
    assert stored.note == "as it was"
    assert len(answer.content) < 100_000
