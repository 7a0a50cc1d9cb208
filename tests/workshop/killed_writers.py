"""Writers that are killed while they write, and the proof that nothing acknowledged is lost.

What is held against: PostgreSQL, "Asynchronous Commit" (what was acknowledged survives), SQLite,
"How SQLite Is Tested" (crash tests); OWASP ASVS 5.0, 2.3.3 (all of a step or nothing).
"""

import datetime
import itertools
import os
import signal
import time
from decimal import Decimal
from io import StringIO

from django.core.management import call_command
from django.db import connection

CENT = Decimal("0.01")


def write_on(said, *, job_id, supply_id, doll_id, user_id):
    """Take orders in, buy and take payments for ever; say each once the service has returned."""
    from django.contrib.auth import get_user_model

    from workshop.models import Commission, Doll, Payment, StockMove, Supply
    from workshop.services.orders import commission_take_in
    from workshop.services.payments import payment_write
    from workshop.services.stock import stock_buy

    by = get_user_model().objects.get(pk=user_id)
    doll = Doll.objects.select_related("customer").get(pk=doll_id)
    job = Commission.objects.get(pk=job_id)
    supply = Supply.objects.get(pk=supply_id)
    for number in itertools.count():
        key = f"{os.getpid()}-{number}"
        taken = commission_take_in(customer=doll.customer, doll=doll, note=key, by=by)
        _say(said, "order", taken.pk, key)
        stock_buy(supply, quantity=Decimal("1.5"), reason=key, by=by, paid=Decimal(2))
        # Found again by its reason: the service does not hand its move out.
        _say(said, "stock", StockMove.objects.get(reason=key).pk, key)
        payment = Payment(
            commission=job,
            kind="balance",
            way="cash",
            paid_on=datetime.datetime.now(datetime.UTC).date() - datetime.timedelta(days=1),
            amount=CENT,
            note=key,
        )
        _say(said, "payment", payment_write(payment, by=by).pk, key)


def _say(said, kind, key, text):
    os.write(said, f"{kind} {key} {text}\n".encode())


def kill_at(readers, kill_pids, *, acknowledged_first, then_s):
    """Kill writers some moments after so many acknowledgements; return all that was acknowledged.

    ``readers`` are the file descriptors the writers speak into.
    """
    lines = _Lines(readers)
    while len(lines.whole) < acknowledged_first:
        if not lines.read():
            raise AssertionError("the writers ended by themselves")
    time.sleep(then_s)
    for pid in kill_pids:
        os.kill(pid, signal.SIGKILL)
    while lines.read():
        pass
    return lines.whole


class _Lines:
    def __init__(self, readers):
        self.open = dict.fromkeys(readers, b"")
        self.whole = []

    def read(self):
        """Take in what has come; False once every writer is gone."""
        import select

        if not self.open:
            return False
        ready, _w, _x = select.select(list(self.open), [], [], 60)
        if not ready:
            raise AssertionError("the writers are silent")
        for reader in ready:
            piece = os.read(reader, 65536)
            if not piece:
                del self.open[reader]
                continue
            *whole, self.open[reader] = (self.open[reader] + piece).split(b"\n")
            self.whole += [line.decode().split(" ") for line in whole]
        return True


def prove(acknowledged, *, job_id, are_all_ours=True):
    """Hold the records against what was acknowledged, against each other and against the rules.

    Where others made records too, as a demo, only the writers' own are looked for on the trail.
    """
    from workshop.models import AuditEntry, Commission, Counter, Payment, StockMove
    from workshop.selectors.payments import account_of

    kinds = {
        "order": (Commission, "note", "taken in"),
        "stock": (StockMove, "reason", None),
        "payment": (Payment, "note", "paid"),
    }
    for kind, (model, column, action) in kinds.items():
        said = {(int(key), text) for what, key, text in acknowledged if what == kind}
        there = set(model.objects.exclude(**{column: ""}).values_list("pk", column))
        assert said <= there, f"{len(said - there)} acknowledged, and lost: {kind}"
        if action:
            on_trail = AuditEntry.objects.filter(
                record_kind=model._meta.model_name, action=action
            ).values_list("record_id", flat=True)
            ours = model.objects.all()
            if not are_all_ours:
                keys = {key for key, _text in said}
                ours, on_trail = ours.filter(pk__in=keys), [k for k in on_trail if k in keys]
            assert sorted(on_trail) == sorted(ours.values_list("pk", flat=True)), kind
    counter = Counter.objects.get(kind=Commission.code_letter)
    numbers = list(Commission.objects.order_by("number").values_list("number", flat=True))
    assert numbers == list(range(1, counter.last + 1)), "a number was given out and is not there"
    account = account_of(Commission.objects.get(pk=job_id))
    assert account.paid == sum(p.signed for p in Payment.objects.filter(commission_id=job_id))
    assert account.paid + account.open == account.owed
    call_command("check_records", stdout=StringIO(), stderr=StringIO())
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            assert cursor.fetchall() == [("ok",)]
            cursor.execute("PRAGMA foreign_key_check")
            assert cursor.fetchall() == []
    else:
        connection.check_constraints()
