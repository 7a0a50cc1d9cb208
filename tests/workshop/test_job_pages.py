"""Pages of jobs: the list, a new one, and the one page on which everything is tried out."""

import re
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_quotes import lay_out_now
from tests.workshop.fixtures_stock import make_hide
from workshop.models import AuditEntry, BackgroundJob, Commission, Customer, Doll, Quote, Supply
from workshop.services.library import foot_measure
from workshop.services.orders import commission_take_in
from workshop.services.quoting import work_out
from workshop.services.records import record_save
from workshop.work import run, work_latest

pytestmark = pytest.mark.django_db

MOST_QUERIES_OF_THE_LIST = 6
HTMX = {"HX-Request": "true"}


def take_in(number, by, *, state="enquiry"):
    """Take in a job of a customer and a doll of its own; every name is invented."""
    commission = commission_take_in(
        customer=Customer(name=f"Customer{number} Example"),
        doll=Doll(name=f"Doll{number}", material="resin"),
        by=by,
    )
    Commission.objects.filter(pk=commission.pk).update(state=state)
    return commission


def quote_row(commission, *, version=1):
    """Store a quote straight away, for lists that only show its price."""
    return Quote.objects.create(
        commission=commission,
        version=version,
        foot=commission.doll.feet.first()
        or foot_measure(
            doll=commission.doll,
            foot_side="left",
            measures={"foot_length": Decimal(70)},
            reason="first measuring",
            by=None,
        ),
        snapshot={},
        price=Decimal("120.50"),
        currency="EUR",
        pair_count=1,
        token_hash=f"{commission.pk} {version}",
        valid_until=timezone.localdate(),
    )


def codes_on(page):
    return re.findall(r">(O-\d{4})<", page.content.decode())


def address(commission, query=""):
    return f"/jobs/{commission.pk}/{'?' if query else ''}{query}"


def stored():
    """Return how many records of each kind that a job could leave behind there are."""
    kinds = (Commission, Customer, Doll, Quote, BackgroundJob, AuditEntry)
    return [kind.objects.count() for kind in kinds]


def beside(page, name):
    """Return the messages that stand beside a field of a page."""
    found = re.search(rf'id="id_{name}_error">(.*?)</ul>', page.content.decode(), flags=re.DOTALL)
    return re.findall(r"<li>(.*?)</li>", found.group(1)) if found else []


# the list


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("O-0002", [2]),
        ("o-2", [2]),
        ("Q-0003-1", [3]),
        ("Doll3", [3]),
        ("doll", [3, 2, 1]),
        ("Customer1", [1]),
        ("nobody", []),
        ("H-0002", []),
        ("100%", []),
        ("x\0y", []),
    ],
)
def test_a_job_is_found_by_its_code_its_doll_and_its_customer(owner_client, owner, text, wanted):
    jobs = {number: take_in(number, owner) for number in (1, 2, 3)}
    page = owner_client.get("/jobs/", {"q": text})
    assert page.status_code == 200
    assert codes_on(page) == [jobs[number].code for number in wanted]


def test_a_job_is_found_by_the_code_of_its_doll_or_its_customer(owner_client, owner):
    record_save(Doll(name="House doll", material="vinyl"), by=owner)  # so that numbers differ
    job = take_in(1, owner)
    take_in(2, owner)
    assert job.doll.number != job.customer.number
    assert codes_on(owner_client.get("/jobs/", {"q": job.doll.code})) == [job.code]
    assert codes_on(owner_client.get("/jobs/", {"q": job.customer.code})) == [job.code]


def test_the_list_keeps_to_a_state(owner_client, owner):
    take_in(1, owner)
    wanted = take_in(2, owner, state="in work")
    assert codes_on(owner_client.get("/jobs/", {"state": "in work"})) == [wanted.code]
    assert len(codes_on(owner_client.get("/jobs/", {"state": "no such state"}))) == 2


def test_the_list_takes_as_many_queries_for_many_jobs_as_for_one(
    owner_client, owner, django_assert_max_num_queries
):
    quote_row(take_in(1, owner))
    with CaptureQueriesContext(
        connection,
    ) as one:
        assert len(codes_on(owner_client.get("/jobs/"))) == 1
    for number in range(2, 12):
        commission = take_in(number, owner)
        quote_row(commission)
        quote_row(commission, version=2)
    with django_assert_max_num_queries(min(len(one), MOST_QUERIES_OF_THE_LIST)):
        page = owner_client.get("/jobs/")
    assert len(codes_on(page)) == 11
    assert page.content.decode().count("120.50 EUR") == 11


def test_older_jobs_are_reached_page_by_page_and_each_stands_once(owner_client, owner):
    for number in range(1, 53):
        take_in(number, owner)
    first = owner_client.get("/jobs/")
    following = re.search(r'href="(\?[^"]*before=[^"]*)"', first.content.decode()).group(1)
    second = owner_client.get("/jobs/" + following.replace("&amp;", "&"))
    seen = codes_on(first) + codes_on(second)
    assert (len(codes_on(first)), len(codes_on(second))) == (50, 2)
    assert seen == sorted(set(seen), reverse=True)
    assert "before=" not in second.content.decode()


# a new job


def new_job(client, **values):
    return client.post("/jobs/new/", {"material": "resin", **values})


def test_a_new_customer_with_a_new_doll_goes_on_to_measuring_and_back(owner_client):
    answer = new_job(
        owner_client, customer="Tamsin Example", email="tamsin@example.org", doll="Rowan"
    )
    job = Commission.objects.get()
    assert (job.customer.name, job.customer.email) == ("Tamsin Example", "tamsin@example.org")
    assert (job.doll.name, job.doll.customer, job.state) == ("Rowan", job.customer, "enquiry")
    assert answer.headers["Location"] == f"/dolls/{job.doll_id}/feet/new/?job={job.pk}"
    sent = {"foot_side": "left", "foot_length": "70", "reason": "first measuring"}
    measured = owner_client.post(answer.headers["Location"], sent)
    assert measured.headers["Location"].startswith(f"/jobs/{job.pk}/")


def test_customer_and_doll_are_taken_by_their_codes_as_suggested(owner_client, foot_version):
    doll = foot_version.doll
    answer = new_job(
        owner_client,
        customer=f"{doll.customer.code} {doll.customer.name}",
        doll=f"{doll.code} {doll.name}",
        wanted_on="2027-03-01",
        note="brown, please",
    )
    job = Commission.objects.get()
    assert answer.headers["Location"] == f"/jobs/{job.pk}/"
    assert (job.doll, job.customer, job.state) == (doll, doll.customer, "measured")
    assert (job.wanted_on.isoformat(), job.note) == ("2027-03-01", "brown, please")
    assert (Customer.objects.count(), Doll.objects.count()) == (1, 1)


def test_a_known_doll_brings_its_customer_along(owner_client, doll):
    new_job(owner_client, customer="", doll=doll.code)
    assert Commission.objects.get().customer == doll.customer


FAULTY_JOBS = [
    ({"customer": "Tamsin Example", "doll": ""}, "doll"),
    ({"customer": "", "doll": "Rowan"}, "customer"),
    ({"customer": "C-9999", "doll": "Rowan"}, "customer"),
    ({"customer": "Tamsin Example", "doll": "D-9999"}, "doll"),
    ({"customer": "Tamsin Example", "doll": "Rowan", "wanted_on": "soon"}, "wanted_on"),
    ({"customer": "Tamsin Example", "doll": "Rowan", "email": "no mail"}, "email"),
    ({"customer": "Tamsin Example", "doll": "Rowan", "material": "lava"}, "material"),
    ({"customer": "Tamsin Example", "doll": "Rowan", "note": "x" * 8001}, "note"),
    ({"customer": "T" * 131, "doll": "Rowan"}, "customer"),
    ({"customer": "Tamsin\0", "doll": "Rowan"}, "customer"),
]


@pytest.mark.parametrize(("values", "field"), FAULTY_JOBS)
def test_a_faulty_job_is_shown_again_and_nothing_is_stored(owner_client, values, field):
    before = stored()
    page = new_job(owner_client, **values)
    assert page.status_code == 200
    assert beside(page, field)
    assert f'href="#id_{field}"' in page.content.decode()
    assert stored() == before


def test_the_doll_of_another_customer_is_refused_beside_the_doll(owner_client, doll, owner):
    other = take_in(1, owner).customer
    before = stored()
    for customer in (other.code, "Tamsin Example"):
        page = new_job(owner_client, customer=customer, doll=doll.code)
        assert beside(page, "doll") == ["That doll belongs to another customer."]
    assert stored() == before


def test_names_longer_than_a_record_takes_are_refused_and_nothing_is_stored(owner_client):
    before = stored()
    for values in ({"customer": "T" * 125, "doll": "Rowan"}, {"customer": "T", "doll": "R" * 125}):
        page = new_job(owner_client, **values)
        assert page.status_code == 200
        assert "faults" in page.content.decode()
    assert stored() == before


def test_wanted_day_and_note_are_changed_later(owner_client, commission):
    sent = {"wanted_on": "2027-04-05", "note": "in plum"}
    answer = owner_client.post(f"/jobs/{commission.pk}/change/", sent)
    assert answer.headers["Location"] == address(commission)
    commission.refresh_from_db()
    assert (commission.wanted_on.isoformat(), commission.note) == ("2027-04-05", "in plum")


# the page of a job


@pytest.mark.paper
def test_trying_out_is_looking_and_stores_nothing(owner_client, choice):
    before = stored()
    for query in (
        "",
        "boot_height_mm=60&station=price",
        "pairs=2&station=leather",
        "station=paper",
    ):
        assert owner_client.get(address(choice.commission, query)).status_code == 200
    assert stored() == before
    assert owner_client.post(address(choice.commission)).status_code == 405


@pytest.mark.paper
def test_the_page_says_the_price_that_follows_from_the_choice(owner_client, choice):
    page = owner_client.get(address(choice.commission)).content.decode()
    assert f"{work_out(choice).breakdown.price} EUR" in page


@pytest.mark.parametrize("station", ["foot", "pieces", "leather", "price", "paper", "cellar"])
@pytest.mark.paper
def test_each_station_opens_by_a_plain_link_without_script(owner_client, choice, station):
    first = owner_client.get(address(choice.commission)).content.decode()
    links = re.findall(r'<a id="[\w-]+" class="station[^"]*" href="\?([^"]*)"', first)
    assert len(links) == 5
    for link in links:
        assert {"style=", "foot=", "hide=", "pairs="} <= set(re.findall(r"\w+=", link))
    page = owner_client.get(address(choice.commission, f"station={station}")).content.decode()
    opened = re.search(r'href="\?[^"]*station=(\w+)"\s+aria-current="step"', page).group(1)
    assert opened == (station if station != "cellar" else "pieces")


@pytest.mark.paper
def test_htmx_gets_the_panel_alone_and_a_shared_cache_is_told(owner_client, choice):
    whole = owner_client.get(address(choice.commission))
    panel = owner_client.get(address(choice.commission), headers=HTMX)
    assert "<html" in whole.content.decode()
    assert "<html" not in panel.content.decode()
    assert 'id="panel"' not in panel.content.decode()
    for answer in (whole, panel):
        assert "HX-Request" in answer.headers["Vary"]
    price = re.compile(r'class="price">([^<]*)<')
    assert price.findall(panel.content.decode()) == price.findall(whole.content.decode())


@pytest.mark.paper
def test_what_is_left_open_is_told_as_drawn(owner_client, choice):
    parameters = work_out(choice).pieces.parameters
    page = owner_client.get(address(choice.commission)).content.decode()
    for name, value in (
        ("boot_height_mm", f"{float(parameters['boot_height_mm']):.1f}"),
        ("lining", "yes"),
    ):
        said = re.search(rf'id="as-drawn-{name}"[^>]*>([^<]*)<', page).group(1)
        assert said == f"as drawn: {value}"
    panel = owner_client.get(address(choice.commission, "lining=false"), headers=HTMX)
    assert re.search(
        r'id="as-drawn-lining"[^>]*hx-swap-oob="true">as drawn: no<', panel.content.decode()
    )


@pytest.mark.paper
def test_typed_options_stay_in_their_fields_and_move_the_figures(owner_client, choice):
    query = "boot_height_mm=62&eyelet_count=4&lining=false&pairs=2"
    page = owner_client.get(address(choice.commission, query)).content.decode()
    assert re.search(r'name="boot_height_mm" value="62"', page)
    assert re.search(r'name="pairs" value="2"', page)
    assert re.search(r'id="as-drawn-eyelet_count"[^>]*>as drawn: 4<', page)
    assert "2 pairs at" in page


FAULTY_OPTIONS = [
    ("boot_height_mm", "abc"),
    ("boot_height_mm", "-5"),
    ("boot_height_mm", "NaN"),
    ("boot_height_mm", "1e9"),
    ("boot_height_mm", "Infinity"),
    ("boot_height_mm", "401"),
    ("heel_height_mm", "-1"),
    ("heel_height_mm", "1e400"),
    ("heel_height_mm", "999"),
    ("eyelet_count", "99"),
    ("eyelet_count", "31"),
    ("eyelet_count", "2.5"),
    ("pairs", "0"),
    ("pairs", "21"),
    ("pairs", "-1"),
    ("pairs", "NaN"),
    ("pairs", "9" * 400),
    ("lining", "maybe"),
    ("style", "987654"),
    ("foot", "987654"),
    ("hide", "987654"),
    ("hide", "x"),
    ("style", "\0"),
]


@pytest.mark.parametrize(("field", "value"), FAULTY_OPTIONS)
@pytest.mark.paper
def test_a_faulty_option_has_its_message_beside_its_field(owner_client, choice, field, value):
    before = stored()
    for station in ("pieces", "paper"):
        page = owner_client.get(address(choice.commission), {field: value, "station": station})
        assert page.status_code == 200
        assert len(beside(page, field)) == 1
    panel = owner_client.get(address(choice.commission), {field: value}, headers=HTMX)
    assert panel.status_code == 200
    label = re.search(rf'<label for="id_{field}">([^<]*)', page.content.decode()).group(1)
    assert label.strip(" :") in re.search(
        r'class="faults"(.*?)</div>', panel.content.decode(), re.DOTALL
    ).group(1)
    for path in ("layout", "quote"):
        owner_client.post(f"/jobs/{choice.commission.pk}/{path}/", {field: value})
    assert stored() == before


def test_the_foot_of_another_doll_is_no_choice(owner_client, choice, owner):
    other = Doll(name="Other", material="resin")
    record_save(other, by=owner)
    foot = foot_measure(
        doll=other,
        foot_side="left",
        measures={"foot_length": Decimal(60)},
        reason="first measuring",
        by=owner,
    )
    page = owner_client.get(address(choice.commission), {"foot": foot.pk})
    assert beside(page, "foot")
    assert "60 mm" not in page.content.decode()


def test_a_hide_that_is_used_up_is_no_choice(owner_client, choice, hide):
    gone = make_hide(hide.lot, state="cut")
    assert beside(owner_client.get(address(choice.commission), {"hide": gone.pk}), "hide")


def test_a_doll_without_measures_is_sent_to_be_measured(owner_client, owner, doll):
    job = commission_take_in(customer=doll.customer, doll=doll, by=owner)
    page = owner_client.get(address(job))
    assert page.status_code == 200
    assert f"/dolls/{doll.pk}/feet/new/?job={job.pk}" in page.content.decode()


@pytest.mark.paper
def test_without_any_hide_the_leather_station_says_so(owner_client, choice, hide):
    type(hide).objects.filter(pk=hide.pk).update(state="cut")
    page = owner_client.get(address(choice.commission, "station=leather"))
    assert page.status_code == 200
    assert "Choose a hide" in page.content.decode()


def test_a_job_that_is_not_there_is_not_found(owner_client):
    for path in ("/jobs/987654/", "/jobs/987654/change/", "/jobs/987654/pieces.svg"):
        assert owner_client.get(path).status_code == 404


# the two buttons


def test_the_quote_saved_is_the_price_that_was_shown(owner_client, choice):
    shown = owner_client.get(address(choice.commission, "boot_height_mm=60")).content.decode()
    answer = owner_client.post(
        f"/jobs/{choice.commission.pk}/quote/", {"boot_height_mm": "60", "pairs": "1"}
    )
    quote = Quote.objects.get()
    assert answer.headers["Location"] == reverse("quote", args=[quote.pk])
    assert quote.shown_price in shown
    assert quote.snapshot["style"]["options"] == {"boot_height_mm": "60"}
    page = owner_client.get(address(choice.commission)).content.decode()
    assert f"/quotes/{quote.pk}/" in page


def test_a_layout_begun_twice_is_the_one_already_on_its_way(client, helper, choice):
    client.force_login(helper)
    for _turn in range(2):
        answer = client.post(f"/jobs/{choice.commission.pk}/layout/", {"pairs": "1"})
        assert answer.headers["Location"].endswith("station=leather")
    assert BackgroundJob.objects.count() == 1
    page = client.get(answer.headers["Location"]).content.decode()
    assert "<progress" in page
    client.post(f"/jobs/{choice.commission.pk}/layout/", {"pairs": "2"})
    assert BackgroundJob.objects.count() == 2  # two pairs are other work


@pytest.mark.paper
def test_the_page_shows_the_layout_once_it_is_done(owner_client, owner, choice):
    work = lay_out_now(choice, owner)
    page = owner_client.get(address(choice.commission, "station=leather")).content.decode()
    used = round(100 * (1 - work.result["waste"]["waste_share"]))
    assert f"{used} % used" in page
    assert "The pieces on the hide" in page
    assert "Lay out again" in page


@pytest.mark.paper
def test_a_layout_that_failed_says_why_on_the_page(owner_client, owner, choice, hide):
    scrap = make_hide(hide.lot, outline=((0, 0), (50, 0), (50, 40), (0, 40)), defects=())
    query = f"hide={scrap.pk}&station=leather"
    owner_client.post(f"/jobs/{choice.commission.pk}/layout/", {"hide": scrap.pk})
    work = BackgroundJob.objects.get()
    run(work.pk)
    assert work_latest("layout", work.key).state == "failed"
    page = owner_client.get(address(choice.commission, query)).content.decode()
    assert "clear of defects" in page
    assert "layout failed" in page


def test_an_address_with_an_older_style_version_still_works(owner_client, commission, choice):
    from workshop.services.styles import style_version_make

    older = choice.style
    style_version_make(older.style, values={"lace_gap_mm": 5}, reason="narrower", by=None)
    page = owner_client.get(f"/jobs/{commission.pk}/", {"style": older.pk}).content.decode()
    assert f'value="{older.pk}" selected' in page
    assert "Select a valid choice" not in page


def test_the_same_form_sent_twice_is_one_job(owner_client):
    page = owner_client.get("/jobs/new/").content.decode()
    key = re.search(r'name="form_key" value="([^"]+)"', page).group(1)
    data = {"customer": "Double Click", "doll": "Twice", "form_key": key}
    answers = [owner_client.post("/jobs/new/", data) for _time in range(2)]
    assert answers[0].headers["Location"] == answers[1].headers["Location"]
    assert (Commission.objects.count(), Customer.objects.count(), Doll.objects.count()) == (1, 1, 1)


@pytest.mark.paper
def test_a_price_without_glue_or_box_says_so(owner_client, commission, choice):
    Supply.objects.filter(kind__in=["glue", "box"]).update(kind="other")
    page = owner_client.get(f"/jobs/{commission.pk}/", {"station": "price"}).content.decode()
    assert "Not in this price" in page
    assert "glue, box" in page
