"""Alterations, repairs and remakes: priced small, free or charged, counted by what they come of."""

import datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_work import accept, finish, write_minutes
from tests.workshop.test_places import make_destinations
from tests.workshop.test_stock_files import picture
from workshop.models import Commission, JobPhoto, Kept, Payment, Repair, RepairPrice
from workshop.selectors.agreed import agreed_of
from workshop.selectors.counting_back import job_counted
from workshop.selectors.months import month_named, month_report
from workshop.selectors.payments import account_of
from workshop.selectors.repairs import causes_counted
from workshop.services.bills import bill_issue
from workshop.services.orders import commission_move
from workshop.services.payments import payment_write
from workshop.services.repairs import repair_agree, repair_take_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("files_read_once")]

WORK = {"work-TOTAL_FORMS": "1", "work-INITIAL_FORMS": "0"}
WORK |= {"work-0-name": "Lasting", "work-0-minutes": "30"}
NONE = {"material-TOTAL_FORMS": "1", "material-INITIAL_FORMS": "0"}


@pytest.fixture
def made(quote, owner):
    job = accept(quote, owner)
    finish(job, owner)
    return Commission.objects.get(pk=job.pk)


def take_in(made, owner, **values):
    repair = Repair(first_order=made, **{"kind": "repair", "feet": "left", "cause": "?", **values})
    return repair_take_in(repair, by=owner)


def priced(owner_client, repair, **values):
    address = reverse("repair-price", args=[repair.commission_id])
    return owner_client.post(address, WORK | NONE | values)


def test_the_life_of_a_charged_repair_of_one_sole(owner_client, made, supplies, owner):
    glue = supplies["glue"]
    data = {"kind": "repair", "feet": "left", "cause": "the sole came off", "glue": glue.pk}
    data |= {"step": "Lasting", "note": "Dear maker, ...", "form_key": "key"}
    for _turn in range(2):  # sent twice it is one job
        answer = owner_client.post(reverse("repair-new", args=[made.pk]), data)
    repair = Repair.objects.get()
    job = repair.commission
    assert answer.headers["Location"] == reverse("repair", args=[job.pk])
    assert (job.customer, job.doll, job.state) == (made.customer, made.doll, "measured")
    material = {"material-0-name": glue.name, "material-0-quantity": "2"}
    assert priced(owner_client, repair, **material).status_code == 302
    price = RepairPrice.objects.get()
    # By hand: half an hour at 18.00 is 9.00, its overhead at 4.00 an hour 2.00, and 2 units of
    # glue at what the shelf says.
    amounts = {line["group"]: Decimal(line["amount"]) for line in price.breakdown["lines"]}
    assert (amounts["labour"], amounts["overhead"]) == (Decimal("9.00"), Decimal("2.00"))
    assert amounts["material"] == round(2 * glue.unit_cost, 2)
    job.refresh_from_db()
    assert job.state == "quoted"
    page = owner_client.get(reverse("repair", args=[job.pk])).content.decode()
    assert f"It costs {price.breakdown['price']} EUR in all." in page
    # A price typed by hand takes its place; the one before is revised and cannot be agreed to.
    again = priced(owner_client, repair, asked="12.00")
    assert again.status_code == 302, again.context["entry"].form.errors
    answered = reverse("repair-answer", args=[job.pk])
    day = timezone.localdate()
    old = owner_client.post(answered, {"version": 1, "way": "mail", "on": day})
    assert "was revised" in str(old.context["form"].errors)
    ahead = {"version": 2, "way": "mail", "on": day + datetime.timedelta(days=1)}
    assert "on" in owner_client.post(answered, ahead).context["form"].errors
    long = owner_client.post(answered, {"version": 2, "way": "mail", "note": "x" * 3_000_000})
    assert "far too long" in str(long.context["form"].errors["note"])
    job.refresh_from_db()
    assert job.state == "quoted"
    assert owner_client.post(answered, {"version": 2, "way": "mail", "on": day}).status_code == 302
    job.refresh_from_db()
    assert (job.state, agreed_of(job).price) == ("accepted", Decimal("12.00"))
    assert "stays as it was agreed" in priced(owner_client, repair).content.decode()
    # Payments and a bill as of any order.
    paid_on = timezone.localdate()
    payment = Payment(commission=job, kind="balance", way="cash", paid_on=paid_on, amount=12)
    payment_write(payment, by=owner)
    bill = bill_issue(job, by=owner)
    assert bill.amount == 12
    assert bill.lines.get().text == f"Repair of {made.code} for {made.doll.name}"
    assert account_of(job).open == 0
    finish(job, owner)
    first = owner_client.get(reverse("job", args=[made.pk])).content.decode()
    assert reverse("repair", args=[job.pk]) in first


def test_a_repairs_tax_is_that_of_where_it_goes_back_to(owner_client, made, owner):
    make_destinations(taxes=[("Norland", "0")])
    repair = take_in(made, owner)
    assert priced(owner_client, repair).status_code == 302
    here = repair.prices.get()
    Commission.objects.filter(pk=repair.commission_id).update(country="norland")
    assert priced(owner_client, repair).status_code == 302
    there = repair.prices.get(version=2)
    assert (here.job["tax"]["pct"], there.job["tax"]["pct"]) == ("21", "0")
    assert Decimal(here.breakdown["tax"]) > 0 == Decimal(there.breakdown["tax"])


def test_what_is_free_costs_us_and_the_customer_nothing(owner_client, made, owner, client, helper):
    repair = take_in(made, owner)
    both = priced(owner_client, repair, is_free="on", asked="5")
    assert "asked" in both.context["entry"].form.errors
    assert priced(owner_client, repair, is_free="on").status_code == 302
    shown = owner_client.get(reverse("repair", args=[repair.commission_id])).content.decode()
    assert "Free: the cost is ours" in shown
    assert "11.00 EUR" in shown  # 9.00 of work and 2.00 of overhead
    repair.refresh_from_db()
    repair_agree(repair, version=1, way="mail", by=owner)
    with pytest.raises(ValidationError, match="accepted already"):
        repair_agree(repair, version=1, way="mail", by=owner)
    job = Commission.objects.get(pk=repair.commission_id)
    with pytest.raises(ValidationError, match="0 or less"):
        bill_issue(job, by=owner)
    assert causes_counted().total.cost == {"EUR": Decimal("11.00")}
    # Counted back as any job: 60 minutes in place of 30 cost 9.00 and 2.00 of overhead more.
    write_minutes(job, "Lasting", "60", owner)
    finish(job, owner)
    counted = job_counted(Commission.objects.get(pk=job.pk))
    assert (counted.counted.cost, counted.profit) == (Decimal("22.00"), Decimal("-22.00"))
    month = month_report(month_named(""))
    assert [row.style for row in month.styles] == ["Ankle boot", "repair"]
    assert month.uncounted == []
    assert "22.00" in owner_client.get(reverse("counted-back", args=[job.pk])).content.decode()
    assert "Lasting" in owner_client.get(reverse("work-log", args=[job.pk])).content.decode()
    client.force_login(helper)
    for address in (reverse("repair", args=[job.pk]), reverse("repairs")):
        page = client.get(address).content.decode()
        assert "EUR" not in page
        assert "11.00" not in page


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"work-0-minutes": ""}, "Write how many minutes."),
        ({"work-0-minutes": "-3"}, "greater than or equal to 0.1"),
        ({"work-0-minutes": "NaN"}, "Enter a number."),
        ({"work-0-name": "", "work-0-minutes": ""}, "at least one line"),
        ({"material-0-name": "moonlight", "material-0-quantity": "1"}, "fills unit and cost in"),
        ({"asked": "1.005"}, "finer than the smallest amount"),
    ],
)
def test_a_faulty_price_is_told_beside_its_field_and_not_kept(
    owner_client, made, owner, values, said
):
    repair = take_in(made, owner)
    answer = priced(owner_client, repair, **values)
    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert not RepairPrice.objects.exists()


def test_only_what_was_made_comes_back_and_its_cause_is_needed(owner_client, quote, owner):
    job = accept(quote, owner)
    address = reverse("repair-new", args=[job.pk])
    data = {"kind": "repair", "feet": "both", "cause": "too early"}
    assert "not made yet" in owner_client.post(address, data).content.decode()
    finish(job, owner)
    faulty = owner_client.post(address, {"kind": "mending", "feet": "middle", "cause": ""})
    assert set(faulty.context["form"].errors) == {"kind", "feet", "cause"}
    assert not Repair.objects.exists()
    assert Commission.objects.count() == 1


def test_causes_are_counted_by_step_glue_and_leather(owner_client, made, supplies, hide, owner):
    glue, lot = supplies["glue"], hide.lot
    take_in(made, owner, step="Lasting", glue=glue)
    take_in(made, owner, step="Lasting", kind="remake")
    take_in(made, owner, step="Stitching", leather=lot, kind="alteration")
    gone = take_in(made, owner, step="Stitching")
    commission_move(gone.commission, to="withdrawn", by=owner)
    found = causes_counted()
    said = [[(row.name, row.count) for row in rows] for rows in (found.steps, found.glues)]
    assert said == [
        [("Lasting", 2), ("Stitching", 1)],
        [(glue.name, 1), ("not said", 2)],
    ]
    assert [(row.name, row.alterations) for row in found.leathers] == [
        (str(lot), 1),
        ("not said", 0),
    ]
    page = owner_client.get(reverse("repairs")).content.decode()
    assert page.index("Lasting") < page.index("Stitching")
    change = {"cause": "known now", "step": "Stitching", "glue": glue.pk}
    repair = Repair.objects.get(glue=glue)
    address = reverse("repair-change", args=[repair.commission_id])
    assert owner_client.post(address, change).status_code == 302
    assert causes_counted().steps[0].name == "Stitching"


def test_goods_in_keeping_come_with_their_condition_and_go_back_once(
    owner_client, made, owner, helper
):
    repair = take_in(made, owner)
    address = reverse("job-kept", args=[repair.commission_id])
    today = timezone.localdate()
    photo = SimpleUploadedFile("pair.jpg", picture(), "image/jpeg")
    data = {"what": "the pair", "condition": "left sole loose", "value": "148.00"}
    none = SimpleUploadedFile("pair.jpg", b"no photograph at all", "image/jpeg")
    for faulty, field in (
        (data | {"received_on": today, "photo_file": none}, "photo_file"),
        (data | {"received_on": today + datetime.timedelta(days=2)}, "received_on"),
        (data | {"received_on": today, "condition": ""}, "condition"),
    ):
        assert field in owner_client.post(address, faulty).context["form"].errors
    assert not Kept.objects.exists()
    sent = data | {"received_on": today, "photo_file": photo}
    assert owner_client.post(address, sent).status_code == 302
    kept = Kept.objects.get()
    shown = owner_client.get(reverse("repair", args=[repair.commission_id])).content.decode()
    assert reverse("photograph", args=[kept.photos.get().sha256]) in shown
    assert "148.00 EUR" in shown
    off = reverse("job-photo-off", args=[kept.photos.get().pk])
    owner_client.post(off)  # it proves in which condition they came
    assert JobPhoto.objects.count() == 1
    back = reverse("kept-back", args=[kept.pk])
    early = {"sent_back_on": today - datetime.timedelta(days=1)}
    assert "sent_back_on" in owner_client.post(back, early).context["form"].errors
    assert owner_client.post(back, {"sent_back_on": today}).status_code == 302
    again = owner_client.post(back, {"sent_back_on": today})
    assert "went back already" in str(again.context["form"].errors)
    owner_client.force_login(helper)
    for page in (address, reverse("repair", args=[repair.commission_id]), reverse("repairs")):
        words = owner_client.get(page).content.decode()
        assert "the pair" in words or page == reverse("repairs")
        assert "148.00" not in words
