"""From nothing to a served workshop by its own script, and back: start, log in, work, stop.

One test, as the parts follow from one another: the script prepares an empty folder, prints the
one-time link, serves pages, and its worker does a layout; the stop reaches every process.
"""

import http.cookiejar
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LOOK_EVERY_S = 0.2
PATIENCE_S = 90  # far more than any part takes; only a part that never comes reaches it
DEMO_SAID = "demo workshop is loaded"
PASSWORD = "a phrase of the start test"

pytestmark = [
    pytest.mark.timeout(240),
    pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="reads processes from /proc"),
    pytest.mark.skipif(sys.prefix == sys.base_prefix, reason="needs a virtual environment"),
]


def wait_for(what, find):
    """Return what `find` finds, asked again and again until it is something."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        found = find()
        if found:
            return found
        time.sleep(LOOK_EVERY_S)
    pytest.fail(f"never came: {what}")


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def own_environment(folder):
    """Return a folder that is the running virtual environment, with a stamp of its own.

    The packages are there already, so the script installs nothing; what it notes about them does
    not touch the environment the tests run in.
    """
    folder.mkdir()
    for name in ("bin", "lib", "lib64", "include", "share", "pyvenv.cfg"):
        source = Path(sys.prefix) / name
        if source.exists():
            (folder / name).symlink_to(source)
    return folder


def descendants(pid):
    """Return the ids of all processes below a process."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return set()
    below = {int(child) for child in children}
    return below.union(*(descendants(child) for child in below))


def is_alive(pid):
    """Return whether a process runs; one that only waits to be reaped does not."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state not in ("Z", "X")


class Started:
    """The script while it runs, and what it has printed."""

    def __init__(self, environment, log):
        self.log = log
        self.address = f"http://127.0.0.1:{environment['PORT']}"
        with log.open("wb") as stream:
            self.process = subprocess.Popen(
                ["bash", str(ROOT / "workshop" / "start.sh")],
                env=environment,
                stdout=stream,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                # A shell that runs the tests in the background has its children ignore Ctrl-C.
                preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
            )

    @property
    def said(self):
        return self.log.read_text()

    def answers(self):
        assert self.process.poll() is None, self.said
        try:
            with urllib.request.urlopen(f"{self.address}/login/", timeout=5) as answer:
                return answer.status == 200
        except OSError:
            return False

    def parts(self):
        """Return every process below the script, nothing before all of them are there."""
        found = descendants(self.process.pid)
        return found if len(found) >= 4 else set()

    def stop(self, how):
        """Send one signal to the script alone; every process of it ends."""
        # The server, its worker, the queue, its worker; the queue comes once the search is loaded.
        parts = wait_for("every part", self.parts)
        self.process.send_signal(how)
        self.process.wait(timeout=PATIENCE_S)
        wait_for("the end of every part", lambda: not any(map(is_alive, parts)))


@contextmanager
def started(environment, log):
    run = Started(environment, log)
    try:
        wait_for("an answer of the server", run.answers)
        yield run
    finally:
        left = descendants(run.process.pid)
        for pid in left | ({run.process.pid} if run.process.poll() is None else set()):
            os.kill(pid, signal.SIGKILL)


class Visitor:
    """A browser without script: cookies, and forms sent with their hidden fields."""

    def __init__(self, address):
        self.address = address
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(jar)

    def get(self, path):
        with self.opener.open(urllib.parse.urljoin(self.address, path), timeout=60) as answer:
            return answer.read().decode()

    def send(self, page, path, **values):
        """Send a form to `path` with the token that stands in `page`."""
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]*)"', page).group(1)
        data = urllib.parse.urlencode({"csrfmiddlewaretoken": token, **values}).encode()
        with self.opener.open(urllib.parse.urljoin(self.address, path), data, 60) as answer:
            return answer.read().decode()


def log_in_by_the_link(run):
    visitor = Visitor(run.address)
    link = re.search(rf"{re.escape(run.address)}(/first-login/[^\s]+)", run.said).group(1)
    page = visitor.get(link)
    home = visitor.send(page, link, username="maker", password=PASSWORD, again=PASSWORD)
    assert "On the bench" in home
    with pytest.raises(urllib.error.HTTPError) as spent:
        Visitor(run.address).get(link)
    assert spent.value.code == 404
    sheet = re.search(r'<link rel="stylesheet" href="([^"]*)"', home).group(1)
    assert "--" in visitor.get(sheet)  # the style sheet is served under its hashed name
    return visitor


def lay_out_by_the_worker(visitor):
    jobs = sorted(set(re.findall(r'href="(/jobs/\d+/)"', visitor.get("/jobs/"))))
    pages = {job: visitor.get(f"{job}?station=leather") for job in jobs}
    job, page = next((job, page) for job, page in pages.items() if "Lay the pieces out" in page)
    action = re.search(rf'action="({job}layout/)"', page).group(1)
    assert "<progress" in visitor.send(page, action)
    done = wait_for(
        "a finished layout",
        lambda: (
            (shown := visitor.get(f"{job}?station=leather"))
            and "The pieces on the hide" in shown
            and shown
        ),
    )
    assert "% used" in done


def test_start_prepares_serves_works_and_stops_as_a_whole(tmp_path):
    assert shutil.which("bash")
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in ("DATABASE_URL", "REDIS_URL", "SECRET_KEY", "TLS", "DEMO", "DEBUG")
    } | {
        "DATA_DIR": str(tmp_path / "data"),
        "WORKSHOP_VENV": str(own_environment(tmp_path / "environment")),
        "HOST": "127.0.0.1",
        "PORT": str(free_port()),
        "WORKERS": "1",
    }
    with started(environment, tmp_path / "first.log") as run:
        assert run.said.count(DEMO_SAID) == 1
        visitor = log_in_by_the_link(run)
        lay_out_by_the_worker(visitor)
        run.stop(signal.SIGINT)  # Ctrl-C
    with started(environment, tmp_path / "second.log") as again:
        assert DEMO_SAID not in again.said
        assert "/first-login/" not in again.said
        assert f"open {again.address}/" in again.said
        again.stop(signal.SIGTERM)  # as a supervisor stops it
    for log in ("first.log", "second.log"):
        assert "Traceback" not in (tmp_path / log).read_text()


@pytest.mark.parametrize("given", [{"DEMO": "maybe"}, {"WORKERS": "0"}, {"WORKERS": "2; ls"}])
def test_a_switch_that_is_none_is_told_before_anything_is_set_up(given, tmp_path):
    told = subprocess.run(
        ["bash", "workshop/start.sh"],
        cwd=ROOT,
        env={**os.environ, **given, "DATA_DIR": str(tmp_path), "WORKSHOP_VENV": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=30,
    )
    (name,) = given
    assert told.returncode == 1
    assert told.stderr.startswith(f"ERROR: {name} is '{given[name]}'")
    assert len(told.stderr.splitlines()) == 1
    assert not list(tmp_path.iterdir())
