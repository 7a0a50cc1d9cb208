"""A stock-take: counted beside the ledger, all saved at once, nothing typed is not counted."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from tests.workshop.fixtures_stock import make_supply
from tests.workshop.fixtures_work import accept
from tests.workshop.test_reservations import all_adds_up, line_of, make_job
from tests.workshop.test_stock_ledger import at_once, balance
from workshop.models import StockMove, Supply
from workshop.services.stock import stock_buy, stock_use
from workshop.services.stock_take import CountedSupply, stock_take

pytestmark = pytest.mark.django_db


@pytest.fixture
def shelf(db):
    return make_supply("thread", on_hand="100"), make_supply("lace", on_hand="25")


def row(supply, counted, said):
    return CountedSupply(supply, Decimal(counted), said, "stock-take: lost")


def counts(supply):
    return list(supply.moves.filter(kind="counted").values_list("on_hand_change", "reason"))


def send(client, *rows, query="", **sent):
    """Send the list as it stands with some rows typed in: supply, counted, why, in words."""
    address = reverse("stock-take") + query
    form = client.get(address).context["form"]
    data = {f"said-{s.pk}": form[f"said-{s.pk}"].value() for s in form.supplies}
    for supply, counted, *why in rows:
        data[f"counted-{supply.pk}"] = counted
        data |= dict(zip((f"reason-{supply.pk}", f"words-{supply.pk}"), why, strict=False))
    return client.post(address, {**data, **sent})


def errors_of(answer):
    assert answer.status_code == 200
    return {name: " ".join(said) for name, said in answer.context["form"].errors.items()}


def test_differences_are_booked_with_their_reason_and_empty_rows_are_not(owner_client, shelf):
    thread, lace = shelf
    box = make_supply("box", on_hand="3")
    answer = send(owner_client, (thread, "97.5", "spoiled", "damp"), (box, "3"))
    assert answer.status_code == 302
    assert counts(thread) == [(-2500, "stock-take: spoiled or broken, damp")]
    assert counts(box) == [(0, "stock-take: as the ledger said")]
    assert counts(lace) == []
    assert balance(thread) == (97_500, 0, 97_500)
    page = owner_client.get(answer.headers["Location"]).content.decode()
    assert "2 supplies are counted. Waxed thread 0.6 mm: −2.5\u00a0m." in page


def test_a_difference_without_a_reason_is_asked_for_and_nothing_is_saved(owner_client, shelf):
    thread, lace = shelf
    answer = send(owner_client, (thread, "101.25"), (lace, "20", "other"), query="?kind=thread")
    assert errors_of(answer) == {
        f"reason-{thread.pk}": "1.25\u00a0m more than the ledger says: choose why."
    }
    answer = send(owner_client, (thread, "99"), (lace, "20", "other"))
    assert errors_of(answer) == {
        f"reason-{thread.pk}": "1\u00a0m less than the ledger says: choose why.",
        f"words-{lace.pk}": "Say in a few words what it was.",
    }
    assert not StockMove.objects.filter(kind="counted").exists()


def test_words_alone_tell_what_is_on_no_list(owner_client, shelf):
    send(owner_client, (shelf[1], "26", "other", "given by a friend"))
    assert counts(shelf[1]) == [(1000, "stock-take: given by a friend")]


def test_a_shelf_that_changed_meanwhile_is_told_and_nothing_is_saved(owner_client, shelf, owner):
    thread, lace = shelf
    stock_use(lace, quantity=Decimal(5), reason="r", by=owner)
    said = {f"said-{lace.pk}": "25000"}
    rows = (thread, "98", "lost"), (lace, "25")
    answer = send(owner_client, *rows, **said)
    assert errors_of(answer) == {
        f"counted-{lace.pk}": "Something was booked meanwhile: the ledger now says 20\u00a0m, not"
        " 25\u00a0m. Look again."
    }
    assert not StockMove.objects.filter(kind="counted").exists()
    # What the list says now is shown and sent back, with what was typed.
    form = answer.context["form"]
    assert (form[f"said-{lace.pk}"].value(), form[f"counted-{lace.pk}"].value()) == ("20000", "25")
    assert "20\u00a0m" in answer.content.decode()
    sent = {form[name].html_name: form[name].value() or "" for name in form.fields}
    answer = owner_client.post(reverse("stock-take"), {**sent, f"reason-{lace.pk}": "found"})
    assert answer.status_code == 302
    assert (balance(thread)[0], balance(lace)[0]) == (98_000, 25_000)


@pytest.mark.parametrize("typed", ["-1", "NaN", "Infinity", "1e9", "0.0001", "much"])
def test_a_figure_that_cannot_be_counted_is_refused_beside_it(owner_client, shelf, typed):
    answer = send(owner_client, (shelf[0], typed, "lost"))
    assert errors_of(answer).keys() == {f"counted-{shelf[0].pk}"}


@pytest.mark.parametrize("name", ["said-{}", "said-x", "said-" + "9" * 40])
def test_a_list_that_was_tampered_with_books_nothing(owner_client, shelf, name):
    data = {name.format(shelf[0].pk): "", f"counted-{shelf[0].pk}": "1"}
    assert owner_client.post(reverse("stock-take"), data).status_code in (200, 302)
    assert not StockMove.objects.filter(kind="counted").exists()


def test_less_than_is_reserved_is_taken_from_the_job_accepted_last_when_asked(
    foot_version, owner, owner_client
):
    box = make_supply("box", on_hand="5")
    first = accept(make_job(foot_version, owner, pairs=2), owner)
    last = accept(make_job(foot_version, owner, pairs=2), owner)
    (said,) = errors_of(send(owner_client, (box, "3", "spoiled"))).values()
    assert "3\u00a0pieces counted, but 4\u00a0pieces are reserved" in said
    assert first.code in said
    assert last.code in said
    assert send(owner_client, (box, "3", "spoiled"), from_reserved="on").status_code == 302
    assert balance(box) == (3000, 3000, 0)
    assert [line_of(job, box).held for job in (first, last)] == [2000, 1000]
    assert all_adds_up()
    send(owner_client, (box, "0", "lost"), from_reserved="on")
    assert balance(box) == (0, 0, 0)
    assert [line_of(job, box).missing for job in (first, last)] == [2000, 2000]


@pytest.mark.django_db(transaction=True)
def test_of_two_lists_saved_at_once_the_second_is_told(shelf):
    thread, lace = shelf

    def take(counted):
        rows = [row(lace, counted, 25_000), row(thread, counted, 100_000)]
        try:
            return len(stock_take(rows, by=None))
        except ValidationError as refused:
            return sorted(refused.message_dict)

    told = [f"counted-{thread.pk}", f"counted-{lace.pk}"]
    assert sorted(at_once(lambda: take("7"), lambda: take("9")), key=str) == [2, sorted(told)]
    assert balance(thread)[0] == balance(lace)[0] in (7000, 9000)


def test_the_list_goes_by_kind_a_hundred_at_a_time(owner_client, shelf):
    for number in range(101):
        Supply.objects.create(
            name=f"Eyelet {number:03}",
            number=1000 + number,
            kind="eyelet",
            unit="piece",
            pack_quantity=1,
            pack_price=1,
        )
    first = owner_client.get(reverse("stock-take"), {"kind": "eyelet"})
    assert [s.name for s in first.context["form"].supplies] == [
        f"Eyelet {n:03}" for n in range(100)
    ]
    rest = owner_client.get(reverse("stock-take"), {"kind": "eyelet", "from": "100"})
    assert [s.name for s in rest.context["form"].supplies] == ["Eyelet 100"]
    # A supply that was never booked has nothing on the shelf.
    supply = rest.context["form"].supplies[0]
    send(owner_client, (supply, "4", "found"), query="?kind=eyelet&from=100")
    assert balance(supply) == (4000, 0, 4000)
    everything = owner_client.get(reverse("stock-take"), {"kind": "gold", "from": "x"})
    assert len(everything.context["form"].supplies) == 100


def test_a_helper_counts_and_a_bookkeeper_does_not(client, helper, bookkeeper, shelf):
    client.force_login(helper)
    stock_buy(shelf[0], quantity=Decimal(1), paid=Decimal("918.27"), reason="r", by=None)
    page = client.get(reverse("stock-take")).content.decode()
    assert "918.27" not in page
    assert "EUR" not in page
    assert send(client, (shelf[1], "24", "lost")).status_code == 302
    assert shelf[1].moves.get(kind="counted").made_by == helper
    client.force_login(bookkeeper)
    assert client.get(reverse("stock-take")).status_code == 403
