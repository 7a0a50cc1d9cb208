"""The second step of logging in: asked, taken once, rate limited, recovered, switched off."""

import re
import threading

import pyotp
import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connections
from django.test import Client
from django.urls import reverse

from tests.workshop.test_doors import ROLES
from workshop.doors import ANYONE, OWNER
from workshop.knocking import SECOND_STEP, WINDOW_S
from workshop.models import AuditEntry, LoginLink, Member, RecoveryCode, SecondFactor
from workshop.services.people import login_link_make, password_link_make
from workshop.services.second_factor import code_take, factor_begin, factor_confirm, secret_of

pytestmark = pytest.mark.django_db
PASSWORD = "a long phrase"
START = 1_800_000_000 // WINDOW_S * WINDOW_S + 30
PAGE, STEP = "/login/own/second/", "/login/second/"


@pytest.fixture
def clock():
    with time_machine.travel(START, tick=False) as clock:
        yield clock


def code_of(factor):
    return pyotp.TOTP(secret_of(factor)).now()


@pytest.fixture
def on(owner, clock):
    """An owner with the second step on, and the recovery codes; the next code is a new one."""
    factor = factor_begin(owner)
    codes = factor_confirm(factor, code_of(factor))
    clock.shift(30)
    return factor, codes


def log_in(client, name="owner-login"):
    return client.post(
        "/login/?next=/dolls/", {"username": name, "password": PASSWORD, "next": "/dolls/"}
    )


def is_in(client):
    return client.get("/jobs/").status_code == 200


def test_switching_on_asks_for_a_code_and_shows_recovery_codes_once(clock, owner_client):
    assert "Begin" in owner_client.get(PAGE).content.decode()
    assert not SecondFactor.objects.exists()
    owner_client.post(PAGE, {"act": "begin"})
    shown = owner_client.get(PAGE).content.decode()
    factor = SecondFactor.objects.get()
    assert "<svg" in shown
    assert secret_of(factor)[:4] in shown
    wrong = owner_client.post(PAGE, {"act": "on", "code": "000000"})
    assert "not the right one" in wrong.content.decode()
    assert not SecondFactor.objects.exclude(confirmed_at=None).exists()
    # Begun and not confirmed, it asks nobody for anything.
    assert log_in(Client()).headers["Location"] == "/dolls/"
    page = owner_client.post(PAGE, {"act": "on", "code": code_of(factor)})
    codes = re.findall(r"<code>([a-z2-7-]{19})</code>", page.content.decode())
    assert len(set(codes)) == 10
    assert page.headers["Cache-Control"] == "private, no-store"
    kept = str(list(RecoveryCode.objects.values()))
    assert not any(code in kept or code.replace("-", "") in kept for code in codes)
    later = owner_client.get(PAGE).content.decode()
    assert not any(code in later for code in codes)
    assert secret_of(factor) not in later.replace(" ", "")
    assert AuditEntry.objects.filter(action="second factor on").count() == 1


@pytest.mark.parametrize("act", ["on", "off"])
def test_sessions_begun_before_it_end_and_nobody_else_s(act, clock, owner_client, owner, helper):
    # OWASP ASVS 5.0, 7.4.3 (number from memory).
    elsewhere, others = Client(), Client()
    others.force_login(helper)
    factor = factor_begin(owner)
    if act == "off":
        factor_confirm(factor, code_of(factor))
        clock.shift(30)
    elsewhere.force_login(owner)
    assert is_in(elsewhere)
    sent = {"act": act, "code": code_of(factor), "now": PASSWORD}
    owner_client.post(PAGE, sent)
    assert SecondFactor.objects.filter(confirmed_at__isnull=False).exists() == (act == "on")
    assert is_in(owner_client)
    assert is_in(others)
    assert not is_in(elsewhere)


def test_the_secret_stands_nowhere_in_the_database(on):
    factor, _codes = on
    secret = secret_of(factor)
    assert secret not in str(list(SecondFactor.objects.values()))
    assert secret not in str(list(AuditEntry.objects.values()))


def test_a_password_alone_lets_nobody_in(on):
    factor, _codes = on
    client = Client()
    assert log_in(client).headers["Location"] == STEP
    assert not is_in(client)
    assert client.get(STEP).status_code == 200
    assert client.post(STEP, {"code": "123456"}).status_code == 200
    assert not is_in(client)
    before = client.session.session_key
    answer = client.post(STEP, {"code": code_of(factor)})
    assert answer.headers["Location"] == "/dolls/"
    assert is_in(client)
    assert client.session.session_key != before


def test_a_code_works_once(on, clock):
    factor, _codes = on
    code = code_of(factor)
    first, second = Client(), Client()
    for client in (first, second):
        log_in(client)
    assert first.post(STEP, {"code": code}).status_code == 302
    assert second.post(STEP, {"code": code}).status_code == 200
    assert not is_in(second)
    clock.shift(30)
    assert second.post(STEP, {"code": code_of(factor)}).status_code == 302


@pytest.mark.parametrize(
    ("seconds", "taken"), [(29, True), (31, True), (61, False), (-29, True), (-31, False)]
)
def test_a_clock_may_differ_by_one_step(on, clock, seconds, taken):
    factor, _codes = on
    clock.shift(600)
    code = code_of(factor)
    clock.move_to(START + 30 + 600 - START % 30 + seconds)
    assert code_take(factor, code) is taken


@pytest.mark.parametrize(
    "code", ["", " ", "12345", "1234567", "٣٤٥٦٧٨", "abcdef", "\0", "9" * 31, "-", "١" * 6]
)
def test_what_is_no_code_is_told(on, code):
    client = Client()
    log_in(client)
    answer = client.post(STEP, {"code": code})
    assert answer.status_code == 200
    assert answer.context["form"].errors["code"]


def test_a_recovery_code_works_once_in_any_writing(on):
    _factor, codes = on
    client = Client()
    log_in(client)
    assert client.post(STEP, {"code": codes[3].upper().replace("-", " ")}).status_code == 302
    again = Client()
    log_in(again)
    assert again.post(STEP, {"code": codes[3]}).status_code == 200
    assert again.post(STEP, {"code": codes[4]}).status_code == 302
    assert AuditEntry.objects.filter(action="recovery code used").count() == 2


def test_guessing_makes_wait_and_the_wait_ends(on, clock):
    factor, _codes = on
    client = Client()
    log_in(client)
    for _ in range(SECOND_STEP.most):
        assert client.post(STEP, {"code": "000000"}).status_code == 200
    refused = client.post(STEP, {"code": code_of(factor)})
    assert refused.status_code == 429
    clock.shift(int(refused.headers["Retry-After"]))
    log_in(client)
    assert client.post(STEP, {"code": code_of(factor)}).status_code == 302


def test_the_second_step_waits_ten_minutes_and_for_nobody_else(on, clock):
    factor, _codes = on
    assert Client().get(STEP).headers["Location"] == "/login/"
    assert Client().post(STEP, {"code": code_of(factor)}).headers["Location"] == "/login/"
    client = Client()
    log_in(client)
    clock.shift(601)
    assert client.post(STEP, {"code": code_of(factor)}).headers["Location"] == "/login/"
    assert not is_in(client)


def test_a_closed_login_does_not_get_through_the_second_step(on, owner):
    factor, _codes = on
    client = Client()
    log_in(client)
    owner.is_active = False
    owner.save()
    assert client.post(STEP, {"code": code_of(factor)}).headers["Location"] == "/login/"


def test_a_link_for_another_password_asks_for_the_code_too(on, owner):
    factor, _codes = on
    client = Client()
    path = f"/first-login/{password_link_make(owner)}/"
    new = "quite another sentence"
    assert client.post(path, {"password": new, "again": new}).headers["Location"] == STEP
    assert not is_in(client)
    assert client.post(STEP, {"code": code_of(factor)}).headers["Location"] == "/"
    assert is_in(client)


def test_switching_off_asks_for_password_and_code(on, owner):
    factor, _codes = on
    client = Client()
    client.force_login(owner)
    for sent in ({"now": "wrong", "code": code_of(factor)}, {"now": PASSWORD, "code": "000000"}):
        assert client.post(PAGE, {"act": "off", **sent}).status_code == 200
        assert SecondFactor.objects.exists()
    sent = {"now": PASSWORD, "code": code_of(factor)}
    assert client.post(PAGE, {"act": "off", **sent}).status_code == 302
    assert not SecondFactor.objects.exists()
    assert not RecoveryCode.objects.exists()
    assert AuditEntry.objects.filter(action="second factor off").count() == 1
    assert log_in(Client()).headers["Location"] == "/dolls/"


def test_whoever_is_in_cannot_begin_it_anew_without_a_code(on, owner):
    factor, _codes = on
    client = Client()
    client.force_login(owner)
    client.post(PAGE, {"act": "begin"})
    client.post(PAGE, {"act": "on", "code": code_of(factor)})
    assert SecondFactor.objects.get().salt == factor.salt
    assert RecoveryCode.objects.count() == 10


def test_a_command_switches_it_off_for_whoever_lost_the_phone(on, capsys):
    call_command("second_factor_off", "OWNER-login")
    assert "with the password alone" in capsys.readouterr().out
    assert not SecondFactor.objects.exists()
    assert AuditEntry.objects.get(action="second factor off").who_text == "the app"
    with pytest.raises(CommandError, match="is not on"):
        call_command("second_factor_off", "owner-login")
    with pytest.raises(CommandError, match="no login 'nobody'"):
        call_command("second_factor_off", "nobody")


@pytest.mark.parametrize("role", [role for role in ROLES if role not in (OWNER, ANYONE)])
def test_it_is_for_owners(client, request, role):
    client.force_login(request.getfixturevalue(role))
    assert client.get(PAGE).status_code == 403
    assert client.post(PAGE, {"act": "begin"}).status_code == 403
    assert not SecondFactor.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.every_database
def test_of_the_same_code_sent_many_times_at_once_one_is_taken(owner):
    factor = factor_begin(owner)
    code = code_of(factor)
    until, taken = threading.Barrier(6), []

    def go():
        until.wait()
        taken.append(code_take(factor, code))
        connections.close_all()

    threads = [threading.Thread(target=go) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(taken) == [False] * 5 + [True]


def test_an_invitation_is_taken_back_before_it_is_used(owner_client, owner):
    token = login_link_make(role="helper", by=owner)
    link = LoginLink.objects.get()
    page = owner_client.get(reverse("people")).content.decode()
    end = reverse("invitation-end", args=[link.pk])
    assert end in page
    form = Client()
    assert form.get(f"/first-login/{token}/").status_code == 200
    assert owner_client.post(end).status_code == 302
    sent = {"username": "late", "password": "a long sentence", "again": "a long sentence"}
    assert form.post(f"/first-login/{token}/", sent).status_code == 404
    assert Member.objects.count() == 1
    assert end not in owner_client.get(reverse("people")).content.decode()
    owner_client.post(end)  # once more does nothing
    assert AuditEntry.objects.filter(action="invitation taken back").count() == 1


def test_a_link_taken_back_while_its_form_was_open_makes_no_login(owner):
    from workshop.services.people import login_link_end, login_link_open, login_link_use

    link = login_link_open(login_link_make(role="helper", by=owner))
    assert login_link_end(link.pk, by=owner)
    assert login_link_use(link, username="late", password="x") is None
    assert Member.objects.count() == 1
