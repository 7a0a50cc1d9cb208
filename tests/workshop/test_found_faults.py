"""Faults found by walking through the app as a maker would, and as somebody with ill intent."""

import datetime
import io

import pytest
from django.urls import reverse
from django.utils import timezone

from workshop.models import (
    AuditEntry,
    BackgroundJob,
    Commission,
    Customer,
    Doll,
    FootVersion,
    Quote,
)
from workshop.services.quoting import link_token

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


def test_work_cut_off_each_time_it_is_begun_is_given_up_and_says_so(db, monkeypatch):
    from workshop import work

    class WorkerKilled(BaseException):
        """Stands for kill -9: nothing after it is run."""

    def killed(*args):
        raise WorkerKilled

    monkeypatch.setitem(work.KINDS, "deadly", killed)
    job = work.work_start("deadly", {}, key="k", by=None)
    for _attempt in range(work.MOST_ATTEMPTS):
        try:
            work.run(job.pk)
        except WorkerKilled:
            job.refresh_from_db()
            assert job.state == BackgroundJob.State.RUNNING
            earlier = work.cut_off_before() - datetime.timedelta(seconds=1)
            BackgroundJob.objects.filter(pk=job.pk).update(started_at=earlier)
    work.run(job.pk)  # the queue begins it once more
    job.refresh_from_db()
    assert (job.state, job.attempts) == (BackgroundJob.State.FAILED, work.MOST_ATTEMPTS)
    assert "cut off" in job.fault
    assert work.work_start("deadly", {}, key="k", by=None) != job  # and it can be asked for anew


def test_cut_off_work_comes_back_within_two_minutes():
    from django.conf import settings

    assert settings.Q_CLUSTER["timeout"] < settings.Q_CLUSTER["retry"] <= 120


def test_work_nobody_begins_says_that_the_worker_may_not_be_running(owner_client, owner):
    from workshop.work import work_start

    job = work_start("layout", {}, key="k", by=owner)
    address = reverse("background", args=[job.pk])
    assert "not running" not in owner_client.get(address).content.decode()
    earlier = timezone.now() - datetime.timedelta(minutes=5)
    BackgroundJob.objects.filter(pk=job.pk).update(made_at=earlier)
    assert "not running" in owner_client.get(address).content.decode()


def test_a_dolls_page_leads_to_a_new_job_and_lists_its_jobs(owner_client, choice):
    doll = choice.commission.doll
    page = owner_client.get(reverse("doll", args=[doll.pk])).content.decode()
    address = f"{reverse('job-new')}?doll={doll.code}"
    assert address in page
    assert reverse("job", args=[choice.commission.pk]) in page
    assert f'value="{doll.code}"' in owner_client.get(address).content.decode()


def test_a_hides_page_names_its_quotes_to_those_who_may_open_them(owner_client, quote, helper):
    hide = reverse("hide", args=[quote.hide_id])
    assert reverse("quote", args=[quote.pk]) in owner_client.get(hide).content.decode()
    owner_client.force_login(helper)
    page = owner_client.get(hide).content.decode()
    assert reverse("quote", args=[quote.pk]) not in page
    assert reverse("job", args=[quote.commission_id]) in page


@pytest.mark.paper
def test_the_mock_up_sheet_is_reached_from_the_papers(owner_client, choice):
    job = choice.commission.pk
    page = owner_client.get(reverse("job", args=[job]), {"station": "paper"}).content.decode()
    assert reverse("job-mock-up", args=[job]) in page
    mock_up = pdf_words(owner_client.get(reverse("job-mock-up", args=[job])).content)
    assert choice.commission.code in mock_up


@pytest.mark.paper
def test_the_cutting_sheet_says_for_which_foot_it_is_drawn(owner_client, choice, quote):
    addresses = [
        reverse("job-cutting-sheet", args=[choice.commission.pk]),
        reverse("quote-cutting-sheet", args=[quote.pk]),
    ]
    for address in addresses:
        words = pdf_words(owner_client.get(address).content)
        assert f"As drawn is for the {choice.foot.foot_side} foot" in words


@pytest.mark.paper
def test_the_measuring_card_names_the_doll_but_not_its_owner(client, doll, helper):
    client.force_login(helper)
    page = client.get(reverse("doll", args=[doll.pk])).content.decode()
    card = reverse("measuring-card", args=[doll.pk])
    assert card in page
    assert f"Measures of the foot, {doll.name} {doll.code}" in page
    words = pdf_words(client.get(card).content)
    assert doll.name in words
    assert doll.customer.name not in words


def pdf_words(content: bytes) -> str:
    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_a_queue_that_gives_out_no_work_is_seen(db):
    from workshop.handing_out import STUCK_AFTER, is_stuck
    from workshop.work import work_start

    job = work_start("layout", {}, key="k", by=None)
    assert not is_stuck()  # it has only just been asked for
    jobs = BackgroundJob.objects
    jobs.filter(pk=job.pk).update(made_at=timezone.now() - 2 * STUCK_AFTER)
    assert is_stuck()
    other = jobs.create(kind="layout", key="o", inputs={}, state="running")
    jobs.filter(pk=other.pk).update(started_at=timezone.now())
    assert not is_stuck()  # it waits for its turn
    jobs.filter(pk=other.pk).update(state="done", ended_at=timezone.now())
    assert not is_stuck()  # its turn comes
    jobs.filter(pk=other.pk).update(ended_at=timezone.now() - 2 * STUCK_AFTER)
    assert is_stuck()


def test_work_given_to_a_worker_that_is_no_more_is_handed_out_at_once(db):
    from django_q.models import OrmQ

    from workshop.handing_out import hand_out_again

    later = timezone.now() + datetime.timedelta(hours=1)
    OrmQ.objects.create(key="workshop", payload="x", lock=later)
    hand_out_again()
    assert OrmQ.objects.get().lock <= timezone.now()


def test_an_accepted_job_is_moved_on_step_by_step_and_no_step_is_left_out(owner_client, commission):
    move = reverse("job-move", args=[commission.pk])

    def moved_to(state):
        owner_client.post(move, {"to": state})
        commission.refresh_from_db()
        return commission.state

    Commission.objects.filter(pk=commission.pk).update(state="accepted")
    assert moved_to("sent") == "accepted"
    assert [moved_to(state) for state in ("in work", "finished", "sent")] == [
        "in work",
        "finished",
        "sent",
    ]
    assert moved_to("accepted") == moved_to("") == moved_to("in work") == "sent"


def test_the_trail_tells_what_stood_there_before(owner_client, customer):
    owner_client.post(
        reverse("customer-change", args=[customer.pk]),
        {"name": "Mira Newname", "email": customer.email, "country": customer.country},
    )
    page = owner_client.get(reverse("audit")).content.decode()
    assert f"{customer.name} → Mira Newname" in page
    told = {name for name, _before, _after in AuditEntry.objects.first().changes}
    assert "name" in told
    assert not told & {"email", "country", "number", "made at"}  # what did not change


@pytest.mark.paper
def test_the_menu_tells_which_part_one_is_in(owner_client, hide):
    page = owner_client.get(reverse("hide", args=[hide.pk])).content.decode()
    marked = page.split('aria-current="true"')
    # The menu stands there twice: as a row, and folded for narrow screens.
    assert len(marked) == 3
    assert all(part.endswith(f'href="{reverse("leather")}" ') for part in marked[:2])


@pytest.mark.paper
def test_a_quote_tells_what_its_profit_is_a_part_of(owner_client, quote):
    page = owner_client.get(reverse("quote", args=[quote.pk])).content.decode()
    share = quote.snapshot["breakdown"]["profit_pct_of_price"]
    assert f"profit, {share} % of the price" in page


def test_the_open_quote_says_where_the_workshop_is_reached(client, quote):
    from workshop.models import WorkshopProfile
    from workshop.services.quoting import link_token

    profile = WorkshopProfile.current()
    profile.address = "An invented street 1"
    profile.save()
    page = client.get(reverse("open-quote", args=[link_token(quote)])).content.decode()
    assert profile.address in page


@pytest.mark.paper
def test_a_paper_named_a4_is_a4_in_a_workshop_that_prints_on_letter(owner_client, doll):
    from workshop.models import WorkshopProfile

    profile = WorkshopProfile.current()
    profile.paper = "Letter"
    profile.save()
    page = owner_client.get(reverse("doll", args=[doll.pk])).content.decode()
    assert f"{reverse('measuring-card', args=[doll.pk])}?paper=A4" in page


@pytest.mark.paper
def test_a_price_that_lacks_a_supply_leads_to_the_supplies_and_names_them_all(owner_client, choice):
    from workshop.models import StockBalance, StockMove, Supply

    for records in (StockBalance, StockMove, Supply):
        records.objects.all()._raw_delete("default")
    job = reverse("job", args=[choice.commission.pk])
    page = owner_client.get(job, {"station": "price"}).content.decode()
    panel = page.split('id="panel"')[1]
    assert f'href="{reverse("supplies")}"' in panel
    assert "lining, thread, lace" in panel


def test_a_note_saved_late_leaves_the_jobs_state_to_the_answer_that_came_first(
    owner_client, choice, monkeypatch
):
    job = choice.commission
    check = Commission.full_clean

    def answered_meanwhile(record, *args, **kwargs):
        Commission.objects.filter(pk=job.pk).update(state=Commission.State.ACCEPTED)
        check(record, *args, **kwargs)

    monkeypatch.setattr(Commission, "full_clean", answered_meanwhile)
    owner_client.post(reverse("job-change", args=[job.pk]), {"note": "in brown", "wanted_on": ""})
    job.refresh_from_db()
    assert (job.note, job.state) == ("in brown", Commission.State.ACCEPTED)


def test_a_quote_whose_foot_a_later_rule_refuses_is_still_shown(owner_client, quote, monkeypatch):
    from patterns.errors import FootError
    from workshop import pictures

    def refuse(document):
        raise FootError("A rule of today refuses this foot.", field="measures", code="new-rule")

    monkeypatch.setattr(pictures, "foot_read", refuse)
    # An older quote keeps no drawing of the shoe; its foot is read to draw it.
    older = {key: value for key, value in quote.drawings.items() if key != "worn"}
    Quote.objects.filter(pk=quote.pk).update(drawings=older)
    assert owner_client.get(reverse("quote", args=[quote.pk])).status_code == 200
    assert owner_client.get(reverse("quote-paper", args=[quote.pk])).status_code == 200
    assert owner_client.get(f"/q/{link_token(quote)}/").status_code == 200


@pytest.mark.paper
def test_a_traced_profile_that_cannot_be_drawn_is_told_on_the_jobs_foot_station(
    owner_client, choice
):
    # It goes along the sole and up the back, and never comes down again.
    FootVersion.objects.filter(pk=choice.foot.pk).update(
        side_profile=[[75, 1], [40, 2], [0.5, 3], [0, 30], [0, 60]]
    )
    page = owner_client.get(reverse("job", args=[choice.commission.pk]), {"station": "foot"})
    assert page.status_code == 200
    assert "trace it whole" in page.content.decode()


def test_a_quote_of_a_withdrawn_job_is_closed_to_its_customer(client, quote):
    Commission.objects.filter(pk=quote.commission_id).update(state="withdrawn")
    address = f"/q/{link_token(quote)}/"
    for answer in (client.get(address), client.post(address + "accept/")):
        assert answer.status_code == 410
        assert "it is closed" in answer.content.decode()
        assert quote.shown_price not in answer.content.decode()
    quote.refresh_from_db()
    assert quote.state == "open"


def test_the_bench_waits_for_no_answer_to_a_job_that_is_closed(owner_client, quote):
    assert quote.code in owner_client.get("/").content.decode()
    Commission.objects.filter(pk=quote.commission_id).update(state="declined")
    assert quote.code not in owner_client.get("/").content.decode()


def test_work_that_lost_its_place_in_the_queue_gets_a_new_one(db):
    from django_q.models import OrmQ

    from workshop.handing_out import STUCK_AFTER, hand_out_again

    jobs = BackgroundJob.objects
    fresh = jobs.create(kind="layout", key="a", inputs={})
    hand_out_again()
    assert not OrmQ.objects.exists()  # it may still be on its way there
    jobs.filter(pk=fresh.pk).update(made_at=timezone.now() - 2 * STUCK_AFTER)
    hand_out_again()
    hand_out_again()
    assert [tuple(entry.task["args"]) for entry in OrmQ.objects.all()] == [(fresh.pk,)]


@pytest.mark.parametrize("change", [{"valid_until": datetime.date(2031, 1, 1)}, {"price": 1}])
def test_nothing_promised_in_a_quote_is_changed_or_thrown_away(quote, change):
    kept = Quote.objects.get(pk=quote.pk)
    for name, value in change.items():
        setattr(kept, name, value)
    with pytest.raises(ValueError, match="was promised"):
        kept.save()
    with pytest.raises(ValueError, match="was promised"):
        kept.delete()
    assert Quote.objects.filter(pk=quote.pk, valid_until=quote.valid_until).exists()


def test_a_list_of_hides_that_is_cut_short_says_so(owner_client, choice, monkeypatch):
    page = reverse("job", args=[choice.commission.pk])
    assert "newest hides" not in owner_client.get(page).content.decode()
    monkeypatch.setattr("workshop.forms.orders.MOST_HIDES", 1)
    assert "Only the 1 newest hides are listed here." in owner_client.get(page).content.decode()
