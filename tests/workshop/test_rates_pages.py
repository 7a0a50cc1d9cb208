"""Pages of rate cards: checked figures, steps as rows, versions that stay."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.workshop.fixtures_stock import make_rate_card, rate_values
from workshop.forms.rates import SPARE_ROWS, first_steps
from workshop.models import AuditEntry, RateCard, WorkshopProfile, WorkStepRow
from workshop.services.rates import rate_card_make

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

FIGURES = {
    "labour_rate_per_hour": "18",
    "overhead_per_active_hour": "4",
    "overhead_pct_of_direct": "0",
    "fee_pct": "6.5",
    "fee_fixed": "0.30",
    "fee_on": "price_with_tax",
    "tax_pct": "21",
    "tax_included": "on",
    "profit_kind": "margin",
    "profit_pct": "20",
    "round_up_to": "0.50",
    "leather_waste_pct": "35",
    "lining_waste_pct": "25",
    "card_waste_pct": "25",
    "thread_waste_pct": "12",
    "eyelet_spare_pct": "5",
    "lace_tying_mm": "240",
    "glue_per_pair": "6",
    "clay_density_g_per_cm3": "1.9",
    "clay_shrinkage_pct": "2",
    "reason": "new year",
}
STITCHING = {"position": "10", "name": "Stitching", "minutes": "2", "per": "mm_stitched"}
EMPTY = {"position": "", "name": "", "minutes": "", "per": "pair"}


def card_data(*steps, **changes):
    data = {**FIGURES, "step-TOTAL_FORMS": len(steps), "step-INITIAL_FORMS": 0, **changes}
    for index, step in enumerate(steps):
        data.update({f"step-{index}-{name}": value for name, value in step.items()})
    return data


def test_the_first_card_begins_with_steps_marked_as_invented(owner_client):
    page = owner_client.get(reverse("rate-new"))
    rows = page.context["entry"].steps.forms
    assert len(rows) == len(first_steps()) + SPARE_ROWS
    assert rows[0]["name"].value() == first_steps()[0]["name"]
    assert "common practice, no source" in page.content.decode()


def test_a_card_is_stored_with_its_steps_in_their_order(owner_client):
    drying = {"position": "", "name": "Drying", "minutes": "60", "per": "pair", "passive": "on"}
    cutting = {"position": "5", "name": " Cutting ", "minutes": "1.5", "per": "piece"}
    answer = owner_client.post(
        reverse("rate-new"), card_data(drying, STITCHING, cutting, EMPTY, EMPTY)
    )
    card = RateCard.objects.get()
    assert answer.headers["Location"] == reverse("rate", args=[card.pk])
    assert (card.version, card.made_by.username) == (1, "owner-login")
    steps = [(s.position, s.name, s.minutes, s.per, s.passive) for s in card.steps.all()]
    assert steps == [
        (1, "Cutting", Decimal("1.5"), "piece", False),
        (2, "Stitching", Decimal(2), "mm_stitched", False),
        (3, "Drying", Decimal(60), "pair", True),
    ]
    assert AuditEntry.objects.filter(record_kind="ratecard").count() == 1


def test_a_new_card_begins_with_the_newest_and_keeps_the_old_one(owner_client):
    old = make_rate_card()
    entry = owner_client.get(reverse("rate-new")).context["entry"]
    assert entry.form["labour_rate_per_hour"].value() == "18"
    assert entry.form["reason"].value() is None
    assert [row["name"].value() for row in entry.steps.forms[:2]] == [
        "Mails and measuring",
        "Drafting the pattern",
    ]
    owner_client.post(reverse("rate-new"), card_data(STITCHING, labour_rate_per_hour="22"))
    newest = RateCard.objects.first()
    assert (newest.version, newest.labour_rate_per_hour) == (2, 22)
    old.refresh_from_db()
    assert old.labour_rate_per_hour == 18
    assert old.steps.count() == len(first_steps())
    page = owner_client.get(reverse("rates"))
    assert [card.version for card in page.context["page"].rows] == [2, 1]
    assert page.content.decode().count("in use</span>") == 1


def test_a_card_and_its_steps_are_never_changed():
    card = make_rate_card()
    for record in (card, card.steps.first()):
        with pytest.raises(ValidationError):
            record.save()
        with pytest.raises(ValidationError):
            record.delete()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"labour_rate_per_hour": "0"}, "labour_rate_per_hour"),
        ({"labour_rate_per_hour": ""}, "labour_rate_per_hour"),
        ({"labour_rate_per_hour": "-1"}, "labour_rate_per_hour"),
        ({"labour_rate_per_hour": "NaN"}, "labour_rate_per_hour"),
        ({"labour_rate_per_hour": "plenty"}, "labour_rate_per_hour"),
        ({"labour_rate_per_hour": "1e9"}, "labour_rate_per_hour"),
        ({"overhead_per_active_hour": "-1"}, "overhead_per_active_hour"),
        ({"fee_pct": "100"}, "fee_pct"),
        ({"fee_fixed": "Infinity"}, "fee_fixed"),
        ({"fee_on": "the moon"}, "fee_on"),
        ({"tax_pct": "101"}, "tax_pct"),
        ({"leather_waste_pct": "100"}, "leather_waste_pct"),
        ({"clay_density_g_per_cm3": "0"}, "clay_density_g_per_cm3"),
        ({"round_up_to": "0"}, "round_up_to"),
        ({"round_up_to": "0.005"}, "round_up_to"),
        ({"round_up_to": "NaN"}, "round_up_to"),
        ({"reason": ""}, "reason"),
        # of the price: nothing may be left, whatever the fee
        ({"profit_pct": "100"}, "profit_pct"),
        ({"profit_pct": "92.2"}, "profit_pct"),
        # on cost: fee 90 % of a price with 21 % tax takes 108.9 % of the price without tax
        ({"profit_kind": "markup", "fee_pct": "90"}, "fee_pct"),
    ],
    ids=str,
)
def test_a_faulty_card_is_shown_again_with_a_message_beside_the_field(owner_client, changes, field):
    page = owner_client.post(reverse("rate-new"), card_data(STITCHING, **changes))
    assert page.status_code == 200
    assert field in page.context["entry"].form.errors
    assert f'href="#id_{field}"' in page.content.decode()
    assert not RateCard.objects.exists()
    assert not WorkStepRow.objects.exists()
    assert not AuditEntry.objects.filter(record_kind="ratecard").exists()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"minutes": ""}, "minutes"),
        ({"minutes": "-1"}, "minutes"),
        ({"minutes": "NaN"}, "minutes"),
        ({"minutes": "1e9"}, "minutes"),
        ({"minutes": "long"}, "minutes"),
        ({"name": ""}, "name"),
        ({"name": "x" * 81}, "name"),
        ({"per": "moon"}, "per"),
        ({"position": "-1"}, "position"),
        ({"position": "first"}, "position"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_a_faulty_step_has_its_message_in_its_row(owner_client, changes, field):
    page = owner_client.post(reverse("rate-new"), card_data(STITCHING, {**STITCHING, **changes}))
    assert page.status_code == 200
    rows = page.context["entry"].steps.forms
    assert field in rows[1].errors
    assert not rows[0].errors
    assert not RateCard.objects.exists()


def test_too_many_steps_are_refused(owner_client):
    page = owner_client.post(reverse("rate-new"), card_data(*[STITCHING] * 70))
    assert page.status_code == 200
    assert page.context["entry"].steps.non_form_errors()
    assert not RateCard.objects.exists()


@pytest.mark.parametrize(
    ("currency", "step", "holds"),
    [("JPY", "0.5", False), ("JPY", "10", True), ("KWD", "0.005", True)],
)
def test_rounding_follows_the_smallest_amount_of_the_currency(owner_client, currency, step, holds):
    profile = WorkshopProfile.current()
    profile.currency = currency
    profile.save()
    owner_client.post(reverse("rate-new"), card_data(STITCHING, round_up_to=step))
    assert RateCard.objects.exists() is holds


def test_a_card_without_steps_can_be_made(owner_client):
    owner_client.post(reverse("rate-new"), card_data(EMPTY))
    assert RateCard.objects.get().steps.count() == 0


def test_a_step_that_does_not_hold_undoes_the_whole_card():
    step = WorkStepRow(name="Stitching", minutes=Decimal(-1), per="pair")
    with pytest.raises(ValidationError):
        rate_card_make(RateCard(**rate_values()), [step], by=None)
    assert not RateCard.objects.exists()


def test_the_bookkeeper_reads_rates_and_makes_none(client, bookkeeper, rate_card):
    client.force_login(bookkeeper)
    assert client.get(reverse("rates")).status_code == 200
    page = client.get(reverse("rate", args=[rate_card.pk])).content.decode()
    assert "18.00\u00a0EUR" in page
    assert "Stitching" in page
    assert client.get(reverse("rate-new")).status_code == 403
    assert client.post(reverse("rate-new"), card_data(STITCHING)).status_code == 403


def test_the_pages_of_rates_take_as_many_queries_for_many_as_for_one(owner_client):
    def counted(address):
        with CaptureQueriesContext(connection) as queries:
            owner_client.get(address)
        return len(queries)

    card = make_rate_card()
    addresses = [reverse("rates"), reverse("rate", args=[card.pk]), reverse("rate-new")]
    few = [counted(address) for address in addresses]
    for _ in range(5):
        make_rate_card()
    assert [counted(address) for address in addresses] == few
