"""What a change on the job's page moved, in words and amounts, and the way back."""

from decimal import Decimal
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest

from workshop.moved import signed

pytestmark = pytest.mark.django_db


def page_of(client, choice, **query):
    return client.get(f"/jobs/{choice.commission.pk}/", query)


def asked(choice, **more):
    values = {"style": choice.style.pk, "foot": choice.foot.pk, "hide": choice.hide.pk}
    return {**values, "pairs": 1, "gap": "1.5", **more}


def test_a_dearer_choice_says_by_how_much_and_because_of_what(owner_client, choice):
    first = page_of(owner_client, choice, **asked(choice, station="price"))
    assert first.context["moved"] is None
    was = first.context["was"]
    two = page_of(owner_client, choice, **asked(choice, pairs=2, station="price", was=was))
    moved = two.context["moved"]
    prices = [page.context["worked"].breakdown.price for page in (first, two)]
    assert moved.difference == prices[1] - prices[0] > 0
    (change,) = moved.changes
    assert (change.what, change.before, change.now) == ("Pairs", "1", "2")
    body = two.content.decode()
    assert f"+{moved.difference} EUR" in body
    assert "Pairs from 1 to 2" in body
    sizes = [abs(line.by) for line in moved.lines]
    assert sizes == sorted(sizes, reverse=True)
    assert len(sizes) == 3
    # The lines named are those of the two prices.
    by_name = [
        {line.name: line.amount for line in page.context["worked"].breakdown.lines}
        | {"profit": page.context["worked"].breakdown.profit}
        for page in (first, two)
    ]
    for line in moved.lines:
        if line.name in by_name[0]:
            assert line.by == by_name[1][line.name] - by_name[0][line.name]


def test_undo_leads_back_to_the_choice_before(owner_client, choice):
    first = page_of(owner_client, choice, **asked(choice, boot_height_mm="60"))
    second = page_of(
        owner_client, choice, **asked(choice, boot_height_mm="", was=first.context["was"])
    )
    moved = second.context["moved"]
    assert [change.now for change in moved.changes] == ["left open"]
    back = owner_client.get(f"/jobs/{choice.commission.pk}/?{moved.back}")
    assert back.context["query"] == first.context["query"]


def test_another_station_is_no_change(owner_client, choice):
    first = page_of(owner_client, choice, **asked(choice, station="price"))
    other = page_of(
        owner_client, choice, **asked(choice, station="paper", was=first.context["was"])
    )
    assert other.context["moved"] is None


def test_the_address_kept_by_the_browser_holds_no_earlier_choice(owner_client, choice):
    was = urlencode(asked(choice))
    answer = owner_client.get(
        f"/jobs/{choice.commission.pk}/",
        asked(choice, pairs=3, was=was),
        headers={"hx-request": "true"},
    )
    kept = parse_qs(urlsplit(answer.headers["HX-Replace-Url"]).query)
    assert kept["pairs"] == ["3"]
    assert "was" not in kept


@pytest.mark.parametrize("was", ["x" * 5_000, "%00=%ff", "pairs=many&style=-1", "&&&=;", "foot=7"])
def test_a_choice_before_that_is_none_is_passed_over(owner_client, choice, was):
    page = page_of(owner_client, choice, **asked(choice, was=was))
    assert page.status_code == 200


def test_a_helper_reads_what_changed_and_no_amount(client, helper, choice):
    client.force_login(helper)
    first = page_of(client, choice, **asked(choice))
    second = page_of(client, choice, **asked(choice, pairs=2, was=first.context["was"]))
    moved = second.context["moved"]
    assert (moved.difference, moved.lines) == (None, ())
    assert "Pairs from 1 to 2" in second.content.decode()


def test_amounts_carry_their_sign():
    assert [signed(Decimal(text)) for text in ("1.20", "-1.20", "0.00")] == [
        "+1.20",
        "−1.20",
        "0.00",
    ]
