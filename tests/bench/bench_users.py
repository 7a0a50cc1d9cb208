"""Print what many people at once meet, and what the web server's memory does over many requests.

Run by hand: python -m tests.bench.bench_users [users] [seconds] [requests]. It starts the server as
`workshop/start.sh` does, on a demo of its own: first so many people, each with a session of its
own, read and write for so many seconds without a pause; then so many requests (10,000) one after
the other, with what each process holds at the start, at half and at the end.
"""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path
from urllib.parse import urlencode

from tests.bench.own_demo import own_demo

USERS, SECONDS, REQUESTS = 50, 60, 10_000
CONNECTIONS = 8
START_S = 60.0
READ = (
    "/",
    "/jobs/",
    "/jobs/?q=O",
    "/dolls/",
    "/customers/",
    "/leather/",
    "/supplies/",
    "/search/?q=a",
    "/jobs/1/?station=price",
    "/jobs/1/?station=pieces",
    "/month/",
    "/trail/",
)
WRITE = "/customers/new/"
WRITE_EVERY = 10
PATIENCE_S = 60


def main() -> None:
    """Start the server, and measure both."""
    users, seconds, requests = (
        int(sys.argv[n]) if len(sys.argv) > n else default
        for n, default in ((1, USERS), (2, SECONDS), (3, REQUESTS))
    )
    with own_demo():
        cookies = [session_of(number) for number in range(users)]
        port = _free_port()
        options = ["--workers", "2", "--threads", "4", "--timeout", "60", "--log-level", "warning"]
        where = f"127.0.0.1:{port}"
        command = ["gunicorn", "workshop.wsgi:application", "--bind", where, *options]
        server = subprocess.Popen([sys.executable, "-m", *command], start_new_session=True)
        try:
            _wait_for(port)
            together(port, cookies, seconds)
            one_after_another(port, cookies[0], requests, server.pid)
        finally:
            os.killpg(server.pid, signal.SIGTERM)
            server.wait(PATIENCE_S)


def session_of(number: int) -> str:
    """Make a login and return the cookie of a session of it."""
    from django.contrib.auth import get_user_model
    from django.test import Client

    from workshop.models import Member

    user = get_user_model().objects.create_user(username=f"person-{number}")
    Member.objects.create(user=user, role="owner")
    client = Client()
    client.force_login(user)
    return "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())


class Person:
    """One session that asks for one page after the other over one connection."""

    def __init__(self, port: int, cookie: str) -> None:
        self.port, self.cookie = port, cookie
        self.connection: http.client.HTTPConnection | None = None
        self.times: list[float] = []
        self.faults: list[str] = []

    def ask(self, method: str, address: str, body: str = "", **headers: str) -> tuple[int, str]:
        """Send one request; return its status and what came, and keep how long it took."""
        start = time.perf_counter()
        was_open = self.connection is not None
        try:
            if self.connection is None:
                self.connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
            self.connection.request(
                method, address, body or None, {"Cookie": self.cookie, **headers}
            )
            answer = self.connection.getresponse()
            status, text = answer.status, answer.read().decode("utf-8", "replace")
        except (http.client.RemoteDisconnected, ConnectionResetError) as error:
            self.connection = None
            if was_open and method == "GET":
                # The server closes what was idle for two seconds; browsers connect anew as well.
                return self.ask(method, address, body, **headers)
            self.faults.append(f"{address}: {error!r}")
            return 0, ""
        except (OSError, http.client.HTTPException) as error:
            self.connection = None
            self.faults.append(f"{address}: {error!r}")
            return 0, ""
        self.times.append(time.perf_counter() - start)
        if status not in (200, 302):
            self.faults.append(f"{address}: {status}")
        return status, text

    def write(self, number: int) -> None:
        """Keep one customer more by the form that is shown."""
        _status, form = self.ask("GET", WRITE)
        found = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', form)
        if found is None:
            self.faults.append(f"{WRITE}: no form")
            return
        body = urlencode({"csrfmiddlewaretoken": found[1], "name": f"Person {number}"})
        status, _text = self.ask(
            "POST",
            WRITE,
            body,
            **{
                "Content-Type": "application/x-www-form-urlencoded",
                "Cookie": f"{self.cookie}; csrftoken={unmasked(found[1])}",
                "Referer": f"http://127.0.0.1:{self.port}{WRITE}",
            },
        )
        if status != 302:
            self.faults.append(f"POST {WRITE}: {status}, not kept")


def unmasked(token: str) -> str:
    """Return the secret a form's token hides, as the cookie holds it."""
    from django.middleware.csrf import _unmask_cipher_token

    return str(_unmask_cipher_token(token))


def together(port: int, cookies: list[str], seconds: int) -> None:
    """Let everybody ask at the same time, and print the sum."""
    from workshop.models import Customer

    before = Customer.objects.count()
    end = time.monotonic() + seconds
    people = [Person(port, cookie) for cookie in cookies]

    def go_on(number: int, person: Person) -> None:
        asked = number
        while time.monotonic() < end:
            if asked % WRITE_EVERY == 0:
                person.write(asked)
            else:
                person.ask("GET", READ[asked % len(READ)])
            asked += 1

    threads = [
        threading.Thread(target=go_on, args=(number, person))
        for number, person in enumerate(people)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    times = sorted(taken for person in people for taken in person.times)
    faults = [fault for person in people for fault in person.faults]
    print(
        f"{len(people)} people, {seconds} s: {len(times)} answers, {len(faults)} faults, "
        f"{Customer.objects.count() - before} customers kept, {len(times) / seconds:.0f} a second, "
        f"p50 {1000 * times[len(times) // 2]:.0f} ms, "
        f"p95 {1000 * times[round(0.95 * (len(times) - 1))]:.0f} ms"
    )
    for fault in sorted(set(faults))[:10]:
        print(f"  {fault}")


def one_after_another(port: int, cookie: str, requests: int, server: int) -> None:
    """Send requests in turn, and print what memory each process of the server holds meanwhile."""
    # Which process takes a connection is chance; of so many each gets some.
    people = [Person(port, cookie) for _ in range(CONNECTIONS)]
    print(f"before any request: {_memory_words(server)}", flush=True)
    shown = {requests // 10: "start", requests // 2: "half", requests: "end"}
    for done in range(1, requests + 1):
        people[done % CONNECTIONS].ask("GET", READ[done // CONNECTIONS % len(READ)])
        if done in shown:
            print(f"{shown[done]}, {done} requests: {_memory_words(server)}", flush=True)
    faults = [fault for person in people for fault in person.faults]
    print(f"{len(faults)} faults {faults[:3]}")


def _memory_words(server: int) -> str:
    children = Path(f"/proc/{server}/task/{server}/children").read_text().split()
    held = [(_resident_mb(int(number)), _busy_s(int(number))) for number in children]
    return ", ".join(
        f"process {number} {mb} MB after {busy_s:.0f} s of work"
        for number, (mb, busy_s) in zip(children, held, strict=True)
    )


def _resident_mb(process: int) -> int:
    status = Path(f"/proc/{process}/status").read_text()
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) // 1024 if found else 0


def _busy_s(process: int) -> float:
    """Return how long a process has been working: what was asked of it."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _wait_for(port: int) -> None:
    end = time.monotonic() + START_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            if time.monotonic() > end:
                raise SystemExit("the server does not answer") from None
            time.sleep(0.2)


if __name__ == "__main__":
    main()
