"""Decimals are typed with a point or a comma, on every page."""

from decimal import Decimal

import pytest
from django import forms
from django.urls import reverse

from tests.workshop.fixtures_plans import query_of
from workshop.forms.hides import HideForm
from workshop.forms.styles import parameter_field
from workshop.forms.work_log import StretchForm
from workshop.selectors.styles import pattern_of

pytestmark = pytest.mark.django_db


def as_shown(page):
    """Return what the form of a page would send as it stands."""
    shown = {field.html_name: field.value() for field in page.context["form"]}
    return {name: value for name, value in shown.items() if value not in (None, "", False)}


def test_no_form_leaves_decimals_to_the_browsers_own_number_box(style_version):
    class Made(forms.Form):
        amount = forms.DecimalField()

    pattern = pattern_of(style_version.style)
    fields = [Made().fields["amount"], *HideForm.base_fields.values()]
    fields += [StretchForm.base_fields["minutes"], *map(parameter_field, pattern.parameters)]
    decimals = [f for f in fields if isinstance(f, forms.DecimalField | forms.FloatField)]
    assert len(decimals) > 10
    for field in decimals:
        assert field.widget.input_type == "text"
        assert field.widget.attrs["inputmode"] == "decimal"


@pytest.mark.parametrize(
    ("typed", "kept"), [("0,9", "0.9"), ("0.9", "0.9"), (" 1,25 ", "1.25"), ("2", "2")]
)
def test_a_comma_is_a_point(owner_client, leather_lot, typed, kept):
    address = reverse("lot-change", args=[leather_lot.pk])
    sent = as_shown(owner_client.get(address))
    answer = owner_client.post(address, {**sent, "thickness_mm": typed})
    assert answer.status_code == 302
    leather_lot.refresh_from_db()
    assert leather_lot.thickness_mm == Decimal(kept)


def test_what_is_no_number_is_shown_again_as_it_was_typed(owner_client, leather_lot):
    address = reverse("lot-change", args=[leather_lot.pk])
    sent = as_shown(owner_client.get(address))
    body = owner_client.post(address, {**sent, "thickness_mm": "1.234,5"}).content.decode()
    assert 'value="1.234,5"' in body
    assert "Enter a number." in body


def test_options_of_a_job_take_a_comma(owner_client, choice):
    query = {**query_of(choice), "gap": "1,5", "boot_height_mm": "55,5"}
    answer = owner_client.get(reverse("job", args=[choice.commission.pk]), query)
    worked = answer.context["worked"]
    assert worked.choice.options["boot_height_mm"] == "55.5"
    assert worked.choice.spacing_mm == 1.5
