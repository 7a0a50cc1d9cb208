"""One record of every kind, and the address of every page that shows one; all of it invented.

`records_of_every_kind` makes them and gives each page of `workshop.doors.DOORS` by its name, so
that a test can open all of them; what is no page stands in `NO_PAGE` with the reason.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_plans import planned, query_of
from tests.workshop.fixtures_quotes import lay_out_now
from tests.workshop.fixtures_stock import make_hide, make_lot
from tests.workshop.fixtures_work import accept, finish, write_minutes

PAPER = "a paper to print, sent as PDF"
TABLE_FILE = "a table, sent as a file"
OTHER_FILE = "a file, no page"
NO_PAGE = {
    "favicon": OTHER_FILE,
    "photograph": "a picture",
    "foot-mesh-file": OTHER_FILE,
    "library-export": OTHER_FILE,
    "customer-export": OTHER_FILE,
    "job-file": OTHER_FILE,
    "job-bundle-file": OTHER_FILE,
    "job-drawing": "a bar within a page",
    "still-in": "a token for the page's own script",
    "job-solid-data": "figures for a drawing",
    "sheets-file": PAPER,
    "month-file": TABLE_FILE,
    "stock-file": TABLE_FILE,
    "pairs-file": TABLE_FILE,
    "customers-file": TABLE_FILE,
    "dolls-file": TABLE_FILE,
    "jobs-file": TABLE_FILE,
    "leather-file": TABLE_FILE,
    "supplies-file": TABLE_FILE,
    "supply-file": TABLE_FILE,
    "to-buy-file": TABLE_FILE,
    "for-sale-file": TABLE_FILE,
    "job-try-on-answer": "leads on to foot-try-on",
    "second-step": "opens only between a password and its code",
} | dict.fromkeys(
    [
        "calibration-page",
        "measuring-card",
        "job-layout-tiles",
        "cut-list-sheet",
        "care-card",
        "stock-care-card",
        "job-guide",
        "bill-paper",
        "job-cutting-sheet",
        "job-mock-up",
        "job-try-on",
        "job-layout-sheet",
        "job-card-templates",
        "job-label",
        "job-breakdown",
        "quote-paper",
        "quote-cutting-sheet",
        "quote-breakdown",
        "hide-label",
        "cutting-labels",
        "article-guide",
    ],
    PAPER,
)
# Shown only while the workshop is empty: a test of its own opens it.
WHILE_EMPTY = "begin"
WITHOUT_RECORD = [
    "home",
    "own-login",
    "second-factor",
    "health",
    "people",
    "workshop-settings",
    "demo-remove",
    "privacy",
    "printers",
    "audit",
    "caution",
    "customers",
    "customer-new",
    "dolls",
    "doll-new",
    "sizes",
    "size-run",
    "library-import",
    "jobs",
    "job-new",
    "day",
    "day-settings",
    "bills",
    "repairs",
    "rates-learned",
    "month",
    "sheets",
    "leather",
    "lot-new",
    "supplies",
    "supply-new",
    "stock-take",
    "to-buy",
    "pairs",
    "pairs-new",
    "stock-run-new",
    "styles",
    "style-new",
    "rates",
    "rate-new",
    "places",
    "place-new",
    "destinations",
    "destinations-new",
    "for-sale",
    "for-sale-new",
    "for-sale-guide",
]


@dataclass(frozen=True)
class Opened:
    """A page: its name in the table of doors, where it is, and whether a login is needed."""

    name: str
    address: str
    is_open: bool = False


class Pages(list):
    """The pages, put together name by name."""

    def put(self, name, *args, is_open=False, **query):
        address = reverse(name, args=args)
        self.append(Opened(name, f"{address}?{urlencode(query)}" if query else address, is_open))


def page_names():
    """Return the names of all addresses that answer GET with a page."""
    from workshop.doors import DOORS

    return {name for name, methods in DOORS.items() if "GET" in methods} - set(NO_PAGE)


def records_of_every_kind(choice, owner):
    """Make the records and return their pages."""
    pages = Pages()
    for name in WITHOUT_RECORD:
        pages.put(name)
    _log_in_pages(pages, owner)
    _library_pages(pages, choice, owner)
    _stock_pages(pages, choice, owner)
    _quote_pages(pages, choice, owner)
    _cut_pages(pages, choice, owner)
    _order_pages(pages, choice, owner)
    _run_pages(pages, choice, owner)
    _sale_pages(pages, choice, owner)
    return pages


def _log_in_pages(pages, owner):
    from workshop.models import Printer, WorkshopProfile
    from workshop.services.people import login_link_make
    from workshop.services.printers import printer_measure
    from workshop.services.records import record_save

    profile = WorkshopProfile.current()
    profile.name, profile.demo_from = "The Button Cellar", timezone.now()
    profile.tax_wording, profile.deposit_pct = "No tax is charged.", Decimal(50)
    record_save(profile, by=owner)
    printer = Printer(name="By the window", across_mm=Decimal(169), along_mm=Decimal("210.5"))
    printer_measure(printer, by=owner)
    pages.put("search")
    pages.put("search", q="a")
    pages.put("login", is_open=True)
    pages.put("first-login", login_link_make(role="helper", by=owner), is_open=True)


def _library_pages(pages, choice, owner):
    from workshop.models import Doll
    from workshop.services.library import foot_measure
    from workshop.services.measuring_links import measuring_link_make, measuring_token
    from workshop.services.records import record_save
    from workshop.services.sizes import size_run_start
    from workshop.work import run

    foot, wearer = choice.foot, choice.foot.doll
    house = Doll(name="House 75", material="other")
    record_save(house, by=owner)
    measures = {"foot_length": Decimal(75), "ball_girth": Decimal("74.2")}
    graded = foot_measure(doll=house, foot_side="left", measures=measures, reason="x", by=owner)
    for name in ("customer", "customer-change", "customer-erase"):
        pages.put(name, wearer.customer_id)
    for name in ("doll", "doll-change", "doll-nearest", "foot-new", "foot-mesh"):
        pages.put(name, wearer.pk)
    for name in ("foot", "foot-try-on", "foot-last"):
        pages.put(name, foot.pk)
    link = measuring_link_make(wearer, by=owner, words="With socks off, please.")
    pages.put("measuring-link", link.pk)
    pages.put("open-measuring", measuring_token(link), is_open=True)
    pages.put("size-grade", graded.pk)
    work = size_run_start(choice.style, [graded, foot], by=owner)
    run(work.pk)
    pages.put("size-run-shown", work.pk)
    pages.put("background", work.pk)


def _stock_pages(pages, choice, owner):
    from workshop.models import Supply

    lot, hide, supply = choice.hide.lot, choice.hide, Supply.objects.first()
    for name in ("lot", "lot-change", "rub-test-new", "hide-new"):
        pages.put(name, lot.pk)
    for name in ("hide", "hide-change"):
        pages.put(name, hide.pk)
    for name in ("supply", "supply-change", "stock-move"):
        pages.put(name, supply.pk)
    for name in ("style", "style-change", "style-version-new"):
        pages.put(name, choice.style.style_id)


def _quote_pages(pages, choice, owner):
    from workshop.models import RateCard
    from workshop.services.quoting import link_token, quote_make, work_out

    job = choice.commission
    lay_out_now(choice, owner)
    first = quote_make(work_out(choice), by=owner)
    quote = quote_make(work_out(replace(choice, pair_count=2)), by=owner)
    pages.put("rate", RateCard.objects.get().pk)
    query = query_of(choice)
    for station in ("foot", "pieces", "leather", "price", "paper"):
        pages.put("job", job.pk, **query, station=station)
    for name in ("job-change", "job-photos", "job-payments", "job-kept", "job-reserved"):
        pages.put(name, job.pk)
    for name in ("job-then", "job-leather", "layout-cut", "plan", "job-solid", "job-views"):
        pages.put(name, job.pk, **query)
    pages.put("correction-new", job.pk, choice.style.style_id, **query)
    pages.put("job-bundle", job.pk)
    pages.put("quote", quote.pk)
    pages.put("quotes-beside", quote.pk, **{"with": first.pk})
    pages.put("open-quote", link_token(quote), is_open=True)


def _another_job(choice, owner, note):
    from workshop.services.orders import commission_take_in

    wearer = choice.foot.doll
    return commission_take_in(customer=wearer.customer, doll=wearer, note=note, by=owner)


def _cut_pages(pages, choice, owner):
    """Open a cut list's pages, with a piece thrown away, and the leavings of a hide."""
    from workshop.services.cut_list_making import cut_list_make
    from workshop.services.cut_lists import line_scrap, line_tick

    job = _another_job(choice, owner, "cut by hand")
    here = replace(choice, commission=job, hide=make_hide(choice.hide.lot))
    cut_list = cut_list_make(planned(here, owner), by=owner)
    pages.put("cut-list", job.pk)
    on_hide = list(cut_list.lines.filter(hide=here.hide).order_by("position"))
    line_tick(on_hide[0], by=owner)
    line_scrap(on_hide[1], reason="slipped", hide=here.hide, by=owner)
    again = cut_list.lines.order_by("-id").first()
    pages.put("cut-line-scrap", on_hide[2].pk)
    pages.put("cut-line-hide", again.pk)
    pages.put("cut-list-place", cut_list.pk, here.hide.pk)
    pages.put("cut-list-end", cut_list.pk, here.hide.pk)
    pages.put("cutting", _cutting(choice, owner).pk)


def _cutting(choice, owner):
    from tests.workshop.test_stock_cuttings import cut

    return cut(make_hide(choice.hide.lot), owner)


def _order_pages(pages, choice, owner):
    """Open the pages of an order that is made and paid for, and of its repair."""
    from workshop.models import Kept, Parcel, Payment
    from workshop.services.parcels import parcel_send
    from workshop.services.payments import payment_write
    from workshop.services.quoting import quote_make, work_out
    from workshop.services.repairs import goods_receive

    job = _another_job(choice, owner, "for the autumn")
    whole = make_hide(choice.hide.lot)  # what is accepted keeps its hide
    quote = quote_make(work_out(replace(choice, commission=job, hide=whole)), by=owner)
    job = accept(quote, owner)
    pages.put("work-log", job.pk)
    pages.put("work-change", write_minutes(job, "Lasting", "42", owner).pk)
    pages.put("bill-new", job.pk)
    finish(job, owner)
    pages.put("counted-back", job.pk)
    today = timezone.localdate()
    payment = Payment(
        commission=job, kind="balance", way="transfer", paid_on=today, amount=Decimal(20)
    )
    payment_write(payment, by=owner)
    pages.put("payment-back", payment.pk)
    parcel = parcel_send(Parcel(commission=job, sent_on=today, weight_g=300), by=owner)
    pages.put("job-parcels", job.pk)
    pages.put("parcel", (parcel or Parcel.objects.get()).pk)
    _repair_pages(pages, job, owner)
    kept = Kept(commission=job, what="the pair", received_on=today, condition="sole loose")
    goods_receive(kept, by=owner)
    pages.put("kept-back", Kept.objects.get().pk)
    bill = _bill(choice, owner)
    pages.put("bill", bill.pk)
    pages.put("credit-new", bill.pk)
    pages.put("sheets-shown", _sheets(quote, owner).pk)


def _bill(choice, owner):
    from workshop.services.bills import bill_issue
    from workshop.services.quoting import quote_make, work_out

    job = _another_job(choice, owner, "billed at once")
    here = replace(choice, commission=job, hide=make_hide(choice.hide.lot))
    return bill_issue(accept(quote_make(work_out(here), by=owner), owner), by=owner)


def _repair_pages(pages, job, owner):
    from costing.job import WorkStep
    from workshop.models import Commission, Repair
    from workshop.services.repairs import repair_price, repair_take_in

    made = Commission.objects.get(pk=job.pk)
    repair = Repair(first_order=made, kind="repair", feet="left", cause="the sole came off")
    repair_take_in(repair, by=owner)
    step = WorkStep("Lasting", Decimal(30), "order", False)
    repair_price(repair, materials=[], steps=[step], is_free=False, by=owner)
    pages.put("repair-new", job.pk)
    for name in ("repair", "repair-change", "repair-price"):
        pages.put(name, repair.commission_id)


def _sheets(quote, owner):
    from workshop.work import SHEETS, work_key, work_start

    inputs = {"quotes": [quote.pk], "paper": "A4", "language": "en"}
    return work_start(SHEETS, inputs, key=work_key(SHEETS, inputs), by=owner)


def _run_pages(pages, choice, owner):
    from workshop.services.stock_runs import run_take_in

    run = run_take_in(
        note="Spring stall",
        form_key=None,
        style=choice.style,
        lot=choice.hide.lot,
        pairs={choice.foot: 2},
        by=owner,
    )
    pages.put("stock-run", run.pk)


def _sale_pages(pages, choice, owner):
    from tests.workshop.test_places import make_destinations, make_place
    from workshop.models import Article
    from workshop.services.for_sale import pairs_add, prices_work_out
    from workshop.services.pairs import pairs_made
    from workshop.work import run

    version = make_place({"pct": Decimal(10), "fixed": Decimal(2)}, by=owner)
    make_destinations((("Norland", 500, "6.50", "5.90"),), (("Norland", "0"),), by=owner)
    for name in ("place", "place-change"):
        pages.put(name, version.place_id)
    pairs_add(choice.style, [choice.foot], [make_lot(colour="green")], None, by=owner)
    run(prices_work_out(by=owner).pk)
    pages.put("article", Article.objects.first().pk)
    pair = pairs_made(
        name="Ankle boot, 75 mm",
        count=1,
        cost=Decimal("41.50"),
        asked=Decimal(96),
        made_on=timezone.localdate(),
        by=owner,
    )[0]
    pages.put("pair", pair.pk)
