"""Doors close for a while to whoever tries too often, and never for good."""

import threading

import pytest
import time_machine
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.test import Client

from workshop.knocking import (
    LINK_IN_VAIN,
    LINK_USED,
    LOGIN_NAME,
    LOGIN_PLACE,
    WINDOW_S,
    Limit,
    asker,
    knocked,
    let_off,
    wait_s,
)
from workshop.models import AuditEntry, Knock, LoginLink, Member

pytestmark = pytest.mark.django_db
PASSWORD = "a sentence only I know"
START = 1_800_000_000 // WINDOW_S * WINDOW_S


@pytest.fixture
def person():
    user = get_user_model().objects.create_user(username="Robin", password=PASSWORD)
    Member.objects.create(user=user, role="helper")
    return user


def try_login(client, password="wrong", name="robin", **more):
    return client.post("/login/", {"username": name, "password": password}, **more)


# Source of what is asked for: OWASP ASVS 5.0, 6.3.1, guessing is hindered without locking out.
def test_guessing_makes_wait_and_the_wait_ends(client, person):
    with time_machine.travel(START + 10, tick=False) as clock:
        for _ in range(LOGIN_NAME.most):
            assert try_login(client).status_code == 200
        refused = try_login(client, PASSWORD, name="Robin")
        assert refused.status_code == 429
        wait = int(refused.headers["Retry-After"])
        assert 0 < wait <= 2 * WINDOW_S
        assert "Nothing is locked" in refused.content.decode()
        # From elsewhere the same person gets in at once: nobody can lock somebody out.
        assert try_login(Client(), PASSWORD, "Robin", REMOTE_ADDR="203.0.113.9").status_code == 302
        clock.shift(wait)
        assert try_login(client, PASSWORD, name="Robin").status_code == 302


def test_getting_in_forgets_the_tries_before(client, person):
    for _ in range(3):
        for _ in range(LOGIN_NAME.most - 1):
            assert try_login(client).status_code == 200
        assert try_login(client, PASSWORD, name="Robin").status_code == 302
        client.logout()


def test_many_names_from_one_place_wait_too(client, person):
    with time_machine.travel(START + 10, tick=False):
        for number in range(LOGIN_PLACE.most):
            assert try_login(client, name=f"name{number}").status_code == 200
        assert try_login(client, PASSWORD, name="Robin").status_code == 429


@pytest.mark.parametrize("path", ["/q/", "/m/", "/first-login/"])
def test_links_cannot_be_guessed_by_trying(client, path):
    with time_machine.travel(START + 10, tick=False):
        for number in range(LINK_IN_VAIN.most):
            assert client.get(f"{path}{number:043d}/").status_code == 404
        refused = client.get(f"{path}{'a' * 43}/")
        assert refused.status_code == 429
        assert int(refused.headers["Retry-After"]) > 0
        # Another network, and pages behind a login, are not concerned.
        elsewhere = Client(REMOTE_ADDR="203.0.113.9")
        assert elsewhere.get(f"{path}{'a' * 43}/").status_code == 404
        assert client.get("/login/").status_code == 200


def test_sending_by_a_link_is_bounded(client, quote):
    with time_machine.travel(START + 10, tick=False):
        address = f"/q/{'b' * 43}/ask/"
        answers = [client.post(address, {"text": "x"}).status_code for _ in range(70)]
    assert set(answers) <= {404, 429}
    assert answers[0] == 404
    assert answers[-1] == 429
    assert answers.index(429) == min(LINK_IN_VAIN.most, LINK_USED.most)


def test_what_is_counted_is_no_personal_data_and_goes_away():
    with time_machine.travel(START, tick=False) as clock:
        knocked(LOGIN_NAME, "robin\n198.51.100.7")
        (row,) = Knock.objects.values()
        assert "robin" not in str(row)
        assert "198.51" not in str(row)
        clock.shift(3 * WINDOW_S)
        knocked(LOGIN_NAME, "someone else")
        assert Knock.objects.count() == 1


@pytest.mark.parametrize("tries", [3, 4, 9, 40])
@pytest.mark.parametrize("into", [0, 300, WINDOW_S - 1])
def test_the_wait_told_is_just_long_enough(tries, into):
    limit = Limit("test", 3)
    with time_machine.travel(START + into, tick=False) as clock:
        for _ in range(tries):
            knocked(limit, "x")
        wait = wait_s(limit, "x")
        assert wait > 0
        clock.shift(wait)
        assert wait_s(limit, "x") == 0
        clock.shift(-2)
        assert wait_s(limit, "x") > 0
        let_off(limit, "x")
        assert wait_s(limit, "x") == 0


@pytest.mark.parametrize(
    ("proxies", "said", "found"),
    [
        (0, "198.51.100.1", "127.0.0.1"),  # nobody of ours wrote it: it may be made up
        (1, "198.51.100.1", "198.51.100.1"),
        (1, "made up, 198.51.100.1", "198.51.100.1"),
        (2, "made up, 198.51.100.1, 203.0.113.1", "198.51.100.1"),
        (1, "", "127.0.0.1"),
        (2, "198.51.100.1", "127.0.0.1"),
    ],
)
def test_who_asks_is_told_by_our_own_proxies_alone(rf, settings, proxies, said, found):
    settings.PROXIES = proxies
    assert asker(rf.get("/", headers={"X-Forwarded-For": said} if said else {})) == found


@pytest.mark.django_db(transaction=True)
@pytest.mark.every_database
def test_tries_at_once_are_all_counted():
    from django.db import connections

    limit = Limit("at once", 1000)
    until = threading.Barrier(8)

    def go():
        until.wait()
        for _ in range(5):
            knocked(limit, "x")
        connections.close_all()

    threads = [threading.Thread(target=go) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(Knock.objects.values_list("count", flat=True)) == 40


def test_a_changed_password_ends_every_other_session(person):
    here, there = Client(), Client()
    for one in (here, there):
        assert try_login(one, PASSWORD, "Robin").status_code == 302
    new = "quite another sentence"
    sent = {"now": PASSWORD, "password": new, "again": new}
    assert here.post("/login/own/", sent).status_code == 302
    assert here.get("/login/own/").status_code == 200
    assert there.get("/dolls/").status_code == 302
    assert try_login(there, new, "Robin").status_code == 302
    assert AuditEntry.objects.filter(action="password changed").count() == 1
    assert new not in str(list(AuditEntry.objects.values()))


def test_out_everywhere_keeps_the_password_and_this_session(person):
    here, there = Client(), Client()
    for one in (here, there):
        try_login(one, PASSWORD, "Robin")
    assert here.post("/login/out-everywhere/", {"now": "wrong"}).status_code == 200
    assert there.get("/dolls/").status_code == 200
    assert here.post("/login/out-everywhere/", {"now": PASSWORD}).status_code == 302
    assert here.get("/dolls/").status_code == 200
    assert there.get("/dolls/").status_code == 302
    assert try_login(there, PASSWORD, "Robin").status_code == 302


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"now": "wrong"}, "now"),
        ({"now": ""}, "now"),
        ({"again": "otherwise typed"}, "again"),
        ({"password": "short", "again": "short"}, "password"),
        ({"password": "password123", "again": "password123"}, "password"),
        ({"password": "p" * 129, "again": "p" * 129}, "password"),
    ],
)
def test_a_password_that_cannot_be_is_said_beside_its_field(client, person, changes, field):
    client.force_login(person)
    sent = {"now": PASSWORD, "password": "quite another one", "again": "quite another one"}
    answer = client.post("/login/own/", {**sent, **changes})
    assert answer.status_code == 200
    assert answer.context["form"].errors[field]
    person.refresh_from_db()
    assert person.check_password(PASSWORD)


def test_a_forgotten_password_is_set_anew_by_a_link_that_works_once(client, person, capsys):
    call_command("login_link", "ROBIN")
    path = "/" + capsys.readouterr().out.split("/", 3)[3].strip()
    assert "Robin" in client.get(path).content.decode()
    assert client.post(path, {"password": "short", "again": "short"}).status_code == 200
    new = "found again by a link"
    assert client.post(path, {"password": new, "again": new}).status_code == 302
    person.refresh_from_db()
    assert person.check_password(new)
    assert Client().get(path).status_code == 404
    assert Member.objects.count() == 1
    call_command("login_link", "robin")
    call_command("login_link", "robin")
    assert LoginLink.objects.filter(user=person, used_at=None).count() == 1


def test_no_link_is_printed_for_a_login_there_is_not():
    with pytest.raises(CommandError, match="no login 'nobody'"):
        call_command("login_link", "nobody")
    assert not LoginLink.objects.exists()


def test_tries_still_count_when_the_next_window_begins():
    limit = Limit("clock", 2)
    with time_machine.travel(START + WINDOW_S - 1, tick=False) as clock:
        for _ in range(3):
            knocked(limit, "x")
        clock.shift(2)
        assert wait_s(limit, "x") > 0
