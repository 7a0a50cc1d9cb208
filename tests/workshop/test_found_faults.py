"""Faults found by walking through the app as a maker would, and as somebody with ill intent."""

from django.urls import reverse

from workshop.models import Commission, Customer, Doll, Quote

TAKE_IN = {"material": "resin", "note": ""}


def take_in(client, **typed):
    return client.post(reverse("job-new"), {**TAKE_IN, **typed})


def test_a_job_for_a_name_already_known_makes_no_second_customer_or_doll(owner_client, doll):
    take_in(owner_client, customer=doll.customer.name.upper(), doll=doll.name.lower())
    assert (Customer.objects.count(), Doll.objects.count()) == (1, 1)
    assert Commission.objects.get().doll == doll


def test_another_customer_may_have_a_doll_of_the_same_name(owner_client, doll):
    take_in(owner_client, customer="Somebody else", doll=doll.name)
    assert Doll.objects.filter(name=doll.name).count() == 2


def test_another_address_is_another_customer_of_the_same_name(owner_client, doll):
    Customer.objects.filter(pk=doll.customer_id).update(email="one@example.org")
    take_in(owner_client, customer=doll.customer.name, email="two@example.org", doll=doll.name)
    assert Customer.objects.filter(name=doll.customer.name).count() == 2


def test_a_name_several_customers_have_asks_for_the_code(owner_client, doll):
    Customer.objects.create(number=90, name=doll.customer.name)
    page = take_in(owner_client, customer=doll.customer.name, doll="New one")
    assert "C-0090" in page.content.decode()
    assert Commission.objects.count() == 0


def test_a_job_is_measured_once_its_dolls_foot_is(owner_client, doll):
    take_in(owner_client, customer="", doll=doll.code)
    assert Commission.objects.get().state == Commission.State.ENQUIRY
    owner_client.post(
        reverse("foot-new", args=[doll.pk]),
        {"foot_side": "left", "foot_length": "75", "reason": "first measuring"},
    )
    assert Commission.objects.get().state == Commission.State.MEASURED


def test_a_job_opens_with_what_its_newest_quote_was_made_for(owner_client, choice):
    job = reverse("job", args=[choice.commission.pk])
    asked = {"pairs": 3, "eyelet_count": 4, "lining": "false"}
    saved = owner_client.post(
        reverse("quote-save", args=[choice.commission.pk]),
        {
            "style": choice.style.pk,
            "foot": choice.foot.pk,
            "hide": choice.hide.pk,
            **asked,
        },
    )
    assert Quote.objects.count() == 1, saved.content
    form = owner_client.get(job).context["form"]
    assert {name: form.cleaned_data[name] for name in asked} == asked
    # A box emptied on the page stays empty: the quote's options come only with the bare address.
    query = {"style": choice.style.pk, "foot": choice.foot.pk, "pairs": 1, "eyelet_count": ""}
    assert owner_client.get(job, query).context["form"].cleaned_data["eyelet_count"] is None


def test_a_job_without_a_quote_opens_with_the_newest_foot(owner_client, choice):
    from workshop.services.library import foot_measure

    newest = foot_measure(
        doll=choice.commission.doll,
        foot_side="left",
        measures={"foot_length": choice.foot.foot_length},
        reason="measured again",
        by=None,
    )
    page = owner_client.get(reverse("job", args=[choice.commission.pk]))
    assert page.context["form"].cleaned_data["foot"] == newest.pk
