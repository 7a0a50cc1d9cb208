"""Processes killed with SIGKILL at any moment: nothing acknowledged is lost, no work done twice."""

import multiprocessing
import os
import random
import signal

import pytest
from django.db import connections

from tests.workshop.fixtures_work import accept
from tests.workshop.killed_writers import kill_at, prove, write_on
from workshop import work
from workshop.handing_out import hand_out_again
from workshop.models import BackgroundJob, Payment
from workshop.selectors.payments import account_of

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.every_database]

ROUNDS, WRITERS, SEED = 10, 2, 20310304
PATIENCE_S = 60


def in_child(run):
    """Begin a function in a process of its own; return its number and what it writes into."""
    connections.close_all()  # a connection must not be shared with a child
    reader, writer = os.pipe()

    def alone():
        os.close(reader)
        try:
            run(writer)
        finally:
            os._exit(0)  # no clearing up of what belongs to the process it came from

    child = multiprocessing.get_context("fork").Process(target=alone, daemon=True)
    child.start()
    os.close(writer)
    return child, reader


def test_nothing_acknowledged_is_lost_when_writers_are_killed(quote, supplies, owner):
    job = accept(quote, owner)
    names = {
        "job_id": job.pk,
        "supply_id": supplies["thread"].pk,
        "doll_id": job.doll_id,
        "user_id": owner.pk,
    }
    chance = random.Random(SEED)
    acknowledged = []
    for _ in range(ROUNDS):
        begun = [in_child(lambda said: write_on(said, **names)) for _ in range(WRITERS)]
        acknowledged += kill_at(
            [reader for _child, reader in begun],
            [child.pid for child, _reader in begun],
            acknowledged_first=chance.randrange(1, 12),
            then_s=chance.random() / 50,
        )
        for child, reader in begun:
            child.join(PATIENCE_S)
            assert child.exitcode == -signal.SIGKILL
            os.close(reader)
        prove(acknowledged, job_id=job.pk)
    assert len(acknowledged) > 5 * ROUNDS // 2
    assert Payment.objects.exists()
    assert account_of(job).paid > 0


def test_work_killed_in_the_middle_is_done_again_and_counts_once(db, monkeypatch):
    """The queue hands a job out at least once; what it leaves behind is there once."""
    told = []

    def do(inputs, report, is_stopped):
        report(50, "half")
        if told:
            os.write(told[0], b"half\n")
            signal.pause()
        return {"run": 2}

    monkeypatch.setitem(work.KINDS, "test", do)
    job = BackgroundJob.objects.create(kind="test", key="k", inputs={})

    def first(said):
        told.append(said)
        work.run(job.pk)

    child, reader = in_child(first)
    assert os.read(reader, 5) == b"half\n"
    os.kill(child.pid, signal.SIGKILL)
    child.join(PATIENCE_S)
    os.close(reader)
    job.refresh_from_db()
    assert (job.state, job.result, job.attempts) == ("running", None, 1)
    hand_out_again()  # as whoever watches the queue does when it is gone
    work.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result, job.attempts) == ("done", {"run": 2}, 2)
    ended_at = job.ended_at
    work.run(job.pk)  # handed out once more, as a queue may
    job.refresh_from_db()
    assert (job.result, job.attempts, job.ended_at) == ({"run": 2}, 2, ended_at)


def test_work_in_pieces_goes_on_where_the_killed_one_was(db, monkeypatch):
    told = []

    def do(inputs, so_far, watch):
        done = list(so_far.get("done", []))
        while len(done) < 4:
            done.append([len(done), os.getpid()])
            watch.keep({"done": done}, now=True)
            if told and len(done) == 2:
                os.write(told[0], b"two\n")
                signal.pause()
        return {"done": done}

    monkeypatch.setitem(work.IN_PIECES, "test", do)
    job = BackgroundJob.objects.create(kind="test", key="k", inputs={})

    def first(said):
        told.append(said)
        work.run(job.pk)

    child, reader = in_child(first)
    assert os.read(reader, 4) == b"two\n"
    os.kill(child.pid, signal.SIGKILL)
    child.join(PATIENCE_S)
    os.close(reader)
    hand_out_again()
    work.run(job.pk)
    job.refresh_from_db()
    assert job.state == "done"
    here, there = os.getpid(), child.pid
    assert job.result["done"] == [[0, there], [1, there], [2, here], [3, here]]
