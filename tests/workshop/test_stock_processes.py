"""The last hide and the last box wanted by several processes at once: one gets it."""

import multiprocessing
import os
import traceback

import pytest
from django.core.exceptions import ValidationError
from django.db import connections

from tests.workshop.fixtures_stock import make_hide, make_lot, make_supply
from tests.workshop.fixtures_work import accept
from tests.workshop.test_reservations import all_adds_up, make_job
from tests.workshop.test_stock_ledger import balance
from tests.workshop.test_to_buy import leather_quote
from workshop.models import AuditEntry, Hide, ReservedSupply, WorkshopProfile
from workshop.selectors.reservations import hide_missing
from workshop.services.cuttings import hide_reserve, reserved_words

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.every_database]

PROCESSES = 4
SECONDS = 60


def in_processes(*works):
    """Run functions at once, each in a process with a connection of its own; return their words."""
    fork = multiprocessing.get_context("fork")
    gate = fork.Barrier(len(works))
    connections.close_all()  # a connection must not be shared with a child
    children, answers = [], []
    for work in works:
        answer, said = fork.Pipe(duplex=False)
        child = fork.Process(target=_alone, args=(work, gate, said), daemon=True)
        child.start()
        said.close()
        children.append(child)
        answers.append(answer)
    words = [answer.recv() if answer.poll(SECONDS) else "no answer" for answer in answers]
    for child in children:
        child.join(SECONDS)
    return words


def _alone(work, gate, said):
    try:
        gate.wait(SECONDS)
        said.send(work())
    except ValidationError as refused:
        said.send(" ".join(refused.messages))
    except BaseException:
        said.send(traceback.format_exc())
    finally:
        connections.close_all()
        os._exit(0)  # no clearing up of what belongs to the process it came from


def test_the_last_hide_goes_to_one_of_several_processes(foot_version, owner):
    hide = make_hide(make_lot())
    jobs = [make_job(foot_version, owner).commission for _ in range(PROCESSES)]

    def reserve(job):
        hide_reserve(Hide.objects.get(pk=hide.pk), commission=job, by=owner)
        return f"it is for {job.code}"

    words = in_processes(*[lambda job=job: reserve(job) for job in jobs])
    hide.refresh_from_db()
    got = f"it is for {hide.reserved_for.code}"
    told = (
        f"{hide.code} is reserved for {hide.reserved_for.code}."
        " Release it there, or choose another hide."
    )
    assert sorted(words) == sorted([got, *[told] * (PROCESSES - 1)])
    assert AuditEntry.objects.filter(record_kind="hide", action="reserved").count() == 1


def test_the_last_box_goes_to_one_of_several_quotes_accepted_at_once(foot_version, owner):
    box = make_supply("box", on_hand="1")
    quotes = [make_job(foot_version, owner) for _ in range(PROCESSES)]
    WorkshopProfile.current()

    def take(quote):
        job = accept(quote, owner)
        line = ReservedSupply.objects.get(reservation__commission=job)
        return f"{line.held} held, {line.missing} missing"

    words = in_processes(*[lambda quote=quote: take(quote) for quote in quotes])
    short = ["0 held, 1000 missing"] * (PROCESSES - 1)
    assert sorted(words) == [*short, "1000 held, 0 missing"]
    assert balance(box) == (1000, 1000, 0)
    assert all_adds_up()


def test_the_hide_several_quotes_were_made_on_goes_to_one_job_with_its_supplies(
    foot_version, owner
):
    hide = make_hide(make_lot())
    make_supply("box", on_hand="9")
    quotes = [leather_quote(foot_version, owner, hide=hide) for _ in range(PROCESSES)]
    WorkshopProfile.current()

    def take(quote):
        return hide_missing(accept(quote, owner))

    words = in_processes(*[lambda quote=quote: take(quote) for quote in quotes])
    hide.refresh_from_db()
    told = reserved_words(hide)
    assert sorted(words) == sorted(["", *[told] * (PROCESSES - 1)])
    assert AuditEntry.objects.filter(record_kind="hide", action="reserved").count() == 1
    assert all_adds_up()
