"""Who sees what of the library: a helper no contact data at all, a bookkeeper all but no change."""

import pytest

from tests.workshop.conftest import CONTACT
from workshop.models import Customer, Doll, FootVersion

CHANGING = ["/dolls/new/", "/customers/new/", "/library/import/"]


def library_pages(customer, doll, foot):
    return [
        "/dolls/",
        f"/dolls/?q={customer.name[:5]}",
        "/dolls/?house=1",
        "/dolls/new/",
        f"/dolls/new/?customer={customer.code}",
        f"/dolls/{doll.pk}/",
        f"/dolls/{doll.pk}/change/",
        f"/dolls/{doll.pk}/feet/new/",
        f"/dolls/{doll.pk}/feet/new/?from={foot.pk}",
        f"/feet/{foot.pk}/",
        f"/feet/{foot.pk}/last/",
        f"/dolls/{doll.pk}/feet/mesh/",
        "/sizes/",
        f"/sizes/?foot={foot.pk}",
        f"/sizes/grade/{foot.pk}/",
        "/sizes/run/",
    ]


def test_a_helper_reads_no_contact_data_on_any_page(client, helper, customer, doll, foot_version):
    client.force_login(helper)
    for address in library_pages(customer, doll, foot_version):
        answer = client.get(address)
        assert answer.status_code == 200, address
        body = answer.content.decode()
        for said in CONTACT.values():
            assert said not in body, f"{said} on {address}"
        assert f"/customers/{customer.pk}/" not in body, address
    answers = [
        client.post(f"/dolls/{doll.pk}/feet/check/", {"foot_length": "75", "foot_side": "left"}),
        client.post(f"/dolls/{doll.pk}/feet/tracing/", {"foot_side": "left"}),
        client.post(f"/dolls/{doll.pk}/change/", {"name": "", "customer": customer.code}),
    ]
    for answer in answers:
        assert answer.status_code == 200
        assert not any(said in answer.content.decode() for said in CONTACT.values())


def test_a_helper_sees_the_customers_name_without_a_link(client, helper, customer, doll):
    client.force_login(helper)
    body = client.get(f"/dolls/{doll.pk}/").content.decode()
    assert customer.name in body
    assert "/customers/" not in body


def test_the_owner_reads_contact_data_on_the_customers_page(owner_client, customer):
    # The test above would pass on empty pages; this one shows that the strings do come out.
    body = owner_client.get(f"/customers/{customer.pk}/").content.decode()
    assert all(said in body for said in CONTACT.values())


@pytest.mark.parametrize("address", ["/customers/", "/customers/1/", *CHANGING[1:]])
def test_a_helper_opens_no_customer_page(client, helper, customer, address):
    client.force_login(helper)
    assert client.get(address).status_code == 403


def test_a_helper_may_measure(client, helper, doll):
    client.force_login(helper)
    client.post(
        f"/dolls/{doll.pk}/feet/new/",
        {"foot_side": "left", "foot_length": "75", "reason": "first measuring"},
    )
    assert FootVersion.objects.get().made_by == helper


def test_a_bookkeeper_reads_all_and_changes_nothing(
    client, bookkeeper, customer, doll, foot_version
):
    client.force_login(bookkeeper)
    for address in ("/customers/", f"/customers/{customer.pk}/", "/dolls/", f"/dolls/{doll.pk}/",
                    f"/feet/{foot_version.pk}/"):  # fmt: skip
        body = client.get(address).content.decode()
        assert "/change/" not in body
        assert "/new/" not in body
    for address in (*CHANGING, f"/dolls/{doll.pk}/change/", f"/customers/{customer.pk}/change/",
                    f"/dolls/{doll.pk}/feet/new/"):  # fmt: skip
        assert client.post(address, {"name": "Other"}).status_code == 403
    assert (Customer.objects.count(), Doll.objects.count()) == (1, 1)
