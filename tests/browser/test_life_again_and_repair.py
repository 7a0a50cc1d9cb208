"""Last year's customer orders again in another colour, accepts by link, and one sole comes back."""

from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

import pytest
import time_machine
from django.utils import timezone

from tests.browser.maker import money, photograph
from tests.workshop.fixtures_stock import make_lot, make_rate_card

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
]


@pytest.fixture
def last_year(shop, slip_on, doll, owner):
    """A pair sent a year ago, of leather bought for it, at the rates of then."""
    from tests.workshop.fixtures_work import accept, finish
    from workshop.services.library import foot_measure
    from workshop.services.orders import commission_move, commission_take_in
    from workshop.services.quoting import Choice, quote_make, work_out

    with time_machine.travel(timezone.now() - timedelta(days=365)):
        make_rate_card(labour_rate_per_hour=Decimal(16))
        measures = {"foot_length": Decimal(75), "ball_girth": Decimal("74.2")}
        foot = foot_measure(
            doll=doll, foot_side="left", measures=measures, reason="by mail", by=owner
        )
        job = commission_take_in(customer=doll.customer, doll=doll, note="brown, please", by=owner)
        lot = make_lot(colour="oxblood", bought_on=None)
        choice = Choice(commission=job, foot=foot, style=slip_on, hide=None, lot=lot, pair_count=1)
        job = accept(quote_make(work_out(choice), by=owner), owner)
        finish(job, owner)
        commission_move(job, to="sent", by=owner)
    make_rate_card(reason="dearer hours")
    return job


@pytest.mark.usefixtures("last_year", "green")
def test_again_in_another_colour_then_a_repair(maker, browser):
    now = order_again(maker)
    accept_by_link(maker, browser, now)
    make_and_send(maker, now)
    repair_one_sole(maker)
    look_back(maker, now)
    maker.tell("Again, and a repair")


def order_again(maker):
    """Look at then and now in green leather, and save the quote; return its price."""
    maker.begin()
    maker.follow("Customers", within="nav")
    maker.follow("Merle Oakhollow")
    maker.follow("O-0001")
    maker.press("Order again")
    page = maker.page
    maker.write(hide="H-0001 Calf, bottle green, 1.20 mm")
    green = page.locator("[name=hide]").input_value()
    page.locator(f"#panel a[href*='then/'][href*='hide={green}&']").wait_for()
    maker.follow("Then and now")
    rows = {row[0]: row[1:] for row in maker.cells(".beside tbody tr")}
    (leather,) = (row for name, row in rows.items() if name.startswith("Calf, oxblood"))
    assert money(leather[1]) > money(leather[0])
    # The hours cost 18 instead of 16: every minute of work is an eighth dearer.
    assert (money(rows["Cutting"][1]), money(rows["Cutting"][2])) == (
        money(rows["Cutting"][0]) * 9 / 8,
        money(rows["Cutting"][0]) / 8,
    )
    then, now = (money(text) for text in rows["price"][:2])
    assert money(rows["price"][2]) == now - then
    maker.follow("O-0002")
    # Back on the job the choice stands as it was looked at.
    page.locator(".bench-price").wait_for()
    assert money(maker.read(".bench-price")) == now
    maker.press("Save as a quote")
    return now


def accept_by_link(maker, browser, price):
    link = maker.page.locator("input.copy").input_value()
    context = browser.new_context(viewport={"width": 390, "height": 844})
    customer = context.new_page()
    customer.goto(link)
    assert money(customer.locator(".price").inner_text()) == price
    maker.clicks += 1
    customer.get_by_role("button", name="Accept this quote").click()
    customer.locator("text=Accepted on").wait_for()
    context.close()
    maker.follow("The job")
    assert "customer by link" in maker.read(".life-now")


def make_and_send(maker, price):
    maker.follow("are missing")
    maker.press("Write it down")
    maker.follow("O-0002")
    maker.press("Begin the work")
    maker.press("The work is finished")
    maker.follow("are still open")
    maker.press("Write it down")
    maker.follow("Make the bill")
    maker.press("Issue the bill")
    maker.follow("Payments of O-0002")
    maker.follow("O-0002")
    maker.follow("Write the parcel down")
    maker.write(tracking="EL 124", cost="4.20")
    maker.press("It is sent")
    maker.follow("O-0002")
    assert "all paid" in maker.read(".life-links")


def repair_one_sole(maker):
    maker.follow("It came back")
    maker.write(
        kind="repair",
        feet="left",
        is_free=True,
        cause="The left sole came loose at the toe.",
        step="Soles from clay",
        glue="Contact glue",
        note="Dear maker, one sole came off.",
    )
    maker.press("Take it in")
    maker.follow("Goods in keeping")
    maker.write(
        what="One pair of slip-ons",
        condition="left sole loose",
        value="150",
        photo_file=photograph("sole.jpg"),
    )
    maker.press("Take it in")
    assert maker.page.locator(".kept img").count() == 1
    maker.follow("O-0003")
    maker.follow("No price is given yet")
    maker.follow("Work the price out")
    maker.write(
        **{
            "work-0-name": "Soles from clay",
            "work-0-minutes": "20",
            "material-0-name": "Contact glue",
            "material-0-quantity": "2",
        }
    )
    maker.press("Work the price out and keep it")
    # 20 min at 18 an hour and 4 an hour of overhead, 2 ml of glue at 12.50 for 250 ml.
    assert money(maker.read("aside .price")) == Decimal("7.43")
    maker.press("The customer agreed")
    maker.follow("O-0003")
    # A sole that is glued again is no new pair: nothing here offers a price for one.
    assert maker.page.get_by_role("button", name="Save as a quote").count() == 0
    maker.press("Begin the work")
    maker.press("The work is finished")
    assert "still here" in maker.read(".life")
    assert maker.page.get_by_role("button", name="to the shelf").count() == 0
    maker.follow("Write the parcel down")
    maker.write(carrier="Post", tracking="EL 125", cost="4.20")
    assert maker.page.locator("[name=with_goods]").is_checked()
    maker.press("It is sent")
    maker.follow("O-0003")
    assert "Nothing is missing." in maker.read(".life")
    maker.follow("Goods in keeping")
    assert "in the parcel, Post EL 125" in maker.read()


def look_back(maker, now):
    maker.follow("O-0003")
    maker.follow("Jobs", within="nav")
    maker.follow("What came back")
    text = maker.read()
    assert "Nothing of a customer's is in the workshop." in text
    counted = {row[0]: row for row in maker.cells("main tbody tr")}
    for cause in ("Soles from clay", "Contact glue"):
        assert counted[cause][1:] == ["1", "1", "0", "0", "7.43 EUR"]
    maker.follow("Month", within="nav")
    rows = {row[0].split(" ")[0]: row for row in maker.cells("main table tbody tr")[:2]}
    # The price holds 21 % of tax, and no payment had a fee; last year's order is not of this month.
    tax = (now * 21 / 121).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert [rows["Slip-on"][n] for n in (1, 2)] == ["1", "1"]
    assert money(rows["Slip-on"][6]) == now - tax
    # The repair earns nothing and costs glue, 20 minutes, their overhead and the post.
    assert [rows["repair"][n] for n in (1, 2)] == ["1", "0"]
    lost = Decimal("0.10") + Decimal("6.00") + Decimal("1.33") + Decimal("4.20")
    assert (money(rows["repair"][6]), money(rows["repair"][9])) == (0, -lost)
