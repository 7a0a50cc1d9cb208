"""An order from far away, by PDF and mail alone: from the pasted message to the parcel."""

from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

import pytest
from django.utils import timezone

from tests.browser.maker import money, photograph
from tests.browser.worker import LAID_OUT, working
from tests.pdf_reading import page_texts
from tests.workshop.fixtures_stock import SUPPLIES

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
]

MESSAGE = "Dear maker,\nmy Wren would love slip-ons in brown.\nThe measures are below."
MEASURES = {
    "foot_length": "75",
    "ball_width": "31.8",
    "ball_girth": "74.2",
    "instep_girth": "72.8",
    "instep_height": "20.7",
    "ankle_girth": "61.3",
}
CENT = Decimal("0.01")
PACKS = {row[1]: (Decimal(row[3]), Decimal(row[4])) for row in SUPPLIES}
STEPS = (  # those that are not timed
    "Mails and measuring",
    "Drafting the pattern",
    "Skiving and folding",
    "Setting up",
    "Lasting",
    "Soles from clay",
    "Finishing and lacing",
    "Photographs",
    "Packing",
    "Post office",
)


def words_of(paper):
    return " ".join(" ".join(page_texts(paper)).split())


def cents(amount):
    return amount.quantize(CENT, ROUND_HALF_UP)


@pytest.mark.usefixtures("shop", "slip_on", "chestnut", "rate_card")
def test_an_order_by_mail_alone(maker):
    today = timezone.localdate()
    take_the_job_in(maker, today)
    price = quote_it(maker)
    answer_by_mail(maker, price, today)
    deposit = pay(maker, "deposit", cents(price / 2), fee="1.10")
    supplies = make_it(maker)
    balance = pay(maker, "balance", price - deposit, fee="0.90")
    bill_it(maker, price, deposit, balance)
    send_it(maker, today)
    look_back(maker, price, supplies)
    maker.tell("By mail alone")


def take_the_job_in(maker, today):
    maker.begin()
    maker.follow("Jobs", within="nav")
    maker.follow("New job")
    maker.write(
        customer="Ottilie Farrow",
        email="ottilie@example.org",
        doll="Wren",
        wanted_on=(today + timedelta(days=80)).isoformat(),
        country="elsewhere",
        budget="250",
        photo_file=photograph("wren.jpg"),
        note=MESSAGE,
    )
    maker.press("Take the job in")
    # A doll without measures leads straight to them: they are typed in from the mail.
    maker.write(**MEASURES, reason="by mail")
    maker.press("Keep this foot")
    facts = maker.read(".job-facts")
    assert "elsewhere" in facts
    assert "budget 250.00 EUR" in facts
    assert "Photographs 1" in maker.read(".life-links")


def quote_it(maker):
    """Lay the pieces out, say where it goes, save the quote; return its price."""
    page = maker.page
    station(maker, "leather")
    with working():
        press_here(maker, "Lay the pieces out")
        page.locator(".station[href*=leather]", has_text=LAID_OUT).wait_for(timeout=60_000)
    station(maker, "price")
    # The country the customer named decides tax and postage; postage waits for a weight.
    assert page.locator("[name=sent_to]:visible").input_value() == "Elsewhere"
    assert "the price holds no postage" in maker.read("#panel")
    before = money(maker.read(".bench-price"))
    maker.write(weight="400")
    maker.press("Save as a quote")
    # Typed, but not looked at yet: nothing is saved at a price that nobody saw.
    assert "Nothing is saved yet" in maker.read(".notice-warning")
    price = money(maker.read(".bench-price"))
    assert price > before
    maker.press("Save as a quote")
    assert "Q-0001-1 is saved" in maker.read(".notice-success")
    assert money(maker.read("aside .price")) == price
    maker.lines = {name: money(amount) for name, amount in maker.cells("aside tbody tr")}
    return price


def station(maker, name):
    maker.clicks += 1
    maker.page.locator(f".station[href*='station={name}']").click()
    maker.page.locator(f".station[href*='station={name}'][aria-current]").wait_for()


def press_here(maker, name):
    maker.clicks += 1
    maker.page.get_by_role("button", name=name).click()


def answer_by_mail(maker, price, today):
    # The address of this computer is in neither letter; both ask for an answer by mail.
    paper = words_of(maker.paper("Quote (PDF)"))
    maker.unfold("Text to copy into a mail")
    letter = " ".join(maker.page.locator("textarea.copy").input_value().split())
    for words in (paper, letter):
        assert f"{price} EUR" in words
        assert "Ready by" in words
        assert "if measures and deposit are here by" in words
        assert "To accept, answer this letter by" in words
        assert "http" not in words
    maker.write(
        answer="accepted", way="mail", on=today.isoformat(), note="Yes please!\nOttilie Farrow"
    )
    maker.press("Note the answer")
    assert "accepted on" in maker.read("aside")
    maker.follow("The job")
    assert f"by mail on {today.isoformat()}" in maker.read(".life-now")


def pay(maker, kind, amount, *, fee):
    """Write a payment down as the page proposes it; return its amount."""
    maker.follow("are missing" if kind == "deposit" else "are still open")
    page = maker.page
    assert page.locator("[name=kind]").input_value() == kind
    assert Decimal(page.locator("[name=amount]").input_value()) == amount
    maker.write(fee=fee)
    maker.press("Write it down")
    maker.follow("O-0001")
    return amount


def make_it(maker):
    """Begin, cut by the list, write minutes down, finish; return what its supplies cost."""
    assert "Nothing is missing before “in work”" in maker.read(".life-next")
    maker.follow("Reserved material")
    supplies = [row[:3] for row in maker.cells("main tbody tr")]
    maker.follow("O-0001")
    maker.press("Begin the work")
    station(maker, "leather")
    maker.press("Make the cut list")
    groups = maker.page.locator(".cut-group").count()
    for _group in range(groups):
        maker.press("are cut: ", exact=False)
    assert maker.page.locator("li.cut-open").count() == 0
    maker.follow("is done: see what is left")
    maker.press("H-0001 is cut")
    maker.clicks += 1
    maker.page.get_by_label("keep", exact=True).first.check()
    maker.press("So be it")
    figures = maker.figures("aside dl.pairs:last-of-type")
    # 600 x 400 mm at 1.10 a dm²: what stays with the work and what is kept make it up again.
    assert money(figures["the hide"]) == Decimal("26.40")
    assert sum(money(figures[name]) for name in ("stays with the work", "H-0002")) == Decimal(
        "26.40"
    )
    maker.leather = money(figures["stays with the work"])
    maker.follow("O-0001")
    maker.follow("Work log")
    for step, minutes in (("Cutting", "30"), ("Stitching", "45")):
        maker.unfold("Write minutes by hand")
        maker.write(".by-hand", step=step, minutes=minutes)
        maker.press("Write it down")
    maker.follow("O-0001")
    maker.press("The work is finished")
    return supplies


def bill_it(maker, price, deposit, balance):
    maker.follow("No bill is issued yet")
    maker.follow("Make the bill")
    maker.press("Issue the bill")
    rows = {name: money(amount) for name, amount in maker.cells("main table tr")[1:]}
    parts = [amount for name, amount in rows.items() if name.startswith(("Slip-on", "Postage"))]
    assert (sum(parts), rows["To be paid in all"]) == (price, price)
    assert rows["Still open"] == 0
    paper = words_of(maker.paper("Bill (PDF)"))
    assert f"−{deposit}" in paper
    assert f"−{balance}" in paper
    assert "0.00 EUR" in paper
    assert "No tax is charged on goods that leave the country." in paper
    maker.follow("Payments of O-0001")
    maker.follow("O-0001")


def send_it(maker, today):
    maker.follow("Write the parcel down")
    maker.write(packing="box, tissue", weight_g="412", tracking="EL 123", cost="8.90")
    maker.press("It is sent")
    assert maker.figures()["Postage really paid"] == "8.90 EUR"
    maker.follow("O-0001")
    assert today.isoformat() in maker.read(".life-now")


def look_back(maker, price, supplies):
    """What life, payments, stock and month say, by figures worked out here."""
    assert "Nothing is missing." in maker.read(".life")
    assert "all paid" in maker.read(".life-links")
    maker.follow("Leather", within="nav")
    shelf = " ".join(maker.read().split())
    assert "H-0002" in shelf
    assert "H-0001 23.98 dm² cut up" in shelf
    maker.follow("Month", within="nav")
    (month,) = (row for row in maker.cells("main table tbody tr") if row[0].startswith("Slip-on"))
    hours, material, income, fees, profit = (money(month[n]) for n in (4, 5, 6, 7, 9))
    # What was reserved is used up, each supply at a pack's price; leather by the hide's share.
    used = sum(
        (cents(money(need) * PACKS[name][1] / PACKS[name][0]) for name, need, _held in supplies),
        maker.leather,
    )
    # 18 an hour: the steps as quoted but for the two that were timed; overhead is 4 an hour.
    labour = sum(maker.lines[step] for step in STEPS) + Decimal("0.3") * (30 + 45)
    assert abs(hours - labour / 18) < Decimal("0.01")
    assert (material, income, fees) == (used, price, Decimal("2.00"))
    overhead = cents(labour * 4 / 18)
    assert profit == income - fees - material - labour - overhead - Decimal("8.90")
