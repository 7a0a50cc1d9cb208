"""Take the pictures of the README anew; run it by hand: python -m tests.bench.take_pictures.

It makes the invented demo workshop in a folder that goes away again, serves it with the real
server and worker, walks through it with Chromium and writes workshop/static/pictures/*.png.
Everything in the pictures is a page or a paper as it is; only the number of colours is reduced,
so that each file stays small.
"""

import io
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pypdfium2
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.conftest import CHROMIUM_ARGUMENTS

ROOT = Path(__file__).resolve().parents[2]
PICTURES = ROOT / "workshop" / "static" / "pictures"
MOST_BYTES = 150_000
COLOURS = (256, 128, 64, 32)  # tried in turn until the file is small enough
DESK = {"width": 1280, "height": 860}
PHONE = {"width": 390, "height": 780}
SHEET_DPI = 90
PASSWORD = "a phrase for pictures"


def main() -> None:
    """Serve the demo, take every picture, stop everything."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with served_demo() as (base, link), chromium() as browser:
        page = browser.new_context(viewport=DESK).new_page()
        log_in(page, link)
        take_bench(page, base)
        take_papers(page, base)
        take_customer(browser, quote_link(page, base))
        take_phone(browser, page, base)


@contextmanager
def served_demo() -> Iterator[tuple[str, str]]:
    """Give the address of a served demo workshop and its one-time link."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = str(probe.getsockname()[1])
        probe.close()
        environment = {**os.environ, "DATA_DIR": folder, "PORT": port, "DEMO": "1"}
        for name in ("DATABASE_URL", "REDIS_URL", "TLS", "HOST"):
            environment.pop(name, None)
        said = subprocess.run(
            [sys.executable, "manage.py", "prepare"],
            cwd=ROOT, env=environment, check=True, capture_output=True, text=True,
        ).stdout  # fmt: skip
        base = f"http://127.0.0.1:{port}"
        server = ["-m", "gunicorn", "workshop.wsgi:application", "--no-control-socket"]
        parts = [
            [*server, "--bind", f"127.0.0.1:{port}", "--log-level", "warning"],
            ["manage.py", "work"],
        ]
        running = [
            subprocess.Popen([sys.executable, *part], cwd=ROOT, env=environment) for part in parts
        ]
        try:
            yield base, re.search(rf"{base}/first-login/\S+", said).group()
        finally:
            for process in running:
                process.terminate()
                process.wait()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Give a Chromium without a window."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=CHROMIUM_ARGUMENTS)
        yield browser
        browser.close()


def log_in(page: Page, link: str) -> None:
    """Make the owner's login, once the server answers."""
    for _turn in range(100):
        try:
            page.goto(link)
            break
        except Exception:  # the server is still starting
            page.wait_for_timeout(200)
    page.locator("[name=username]").fill("maker")
    page.locator("[name=password]").fill(PASSWORD)
    page.locator("[name=again]").fill(PASSWORD)
    page.get_by_role("button", name="Make the login").click()
    page.get_by_role("heading", name="On the bench").wait_for()


def take_bench(page: Page, base: str) -> None:
    """Take the measuring form, a foot with its last, and the job's page.

    Of the job: its pieces, its leather laid out, its price opened.
    """
    page.goto(f"{base}/dolls/1/feet/new/?from=1")
    page.wait_for_load_state("networkidle")
    keep("measuring", page.screenshot())
    page.goto(f"{base}/feet/1/")
    page.wait_for_load_state("networkidle")
    keep("last", page.screenshot())
    page.goto(f"{base}/jobs/1/?station=leather")
    page.get_by_role("button", name="Lay the pieces out").click()
    page.locator(".progress").wait_for()
    page.locator(".progress").wait_for(state="detached", timeout=120_000)
    page.goto(f"{base}/jobs/1/?station=leather")
    keep("leather", page.screenshot())
    page.goto(f"{base}/jobs/1/?station=pieces")
    keep("job", page.screenshot())
    page.goto(f"{base}/jobs/1/?station=price")
    for summary in page.locator("table.breakdown tbody summary").all()[:3]:
        summary.click()
    keep("price", page.screenshot())


def take_papers(page: Page, base: str) -> None:
    """Take the first page of the cutting sheet."""
    content = page.request.get(f"{base}/jobs/1/cutting-sheet/").body()
    document = pypdfium2.PdfDocument(content)
    sheet = document[0]
    image = sheet.render(scale=SHEET_DPI / 72).to_pil()
    framed = Image.new("RGB", (image.width + 2, image.height + 2), "#999999")
    framed.paste(image, (1, 1))
    stream = io.BytesIO()
    framed.save(stream, "PNG")
    keep("sheet", stream.getvalue())


def quote_link(page: Page, base: str) -> str:
    """Return the customer's link of the demo's quote."""
    page.goto(f"{base}/quotes/1/")
    return page.locator("input.copy").input_value()


def take_customer(browser: Browser, link: str) -> None:
    """Take the quote as its customer sees it, without a login."""
    context = browser.new_context(viewport=DESK)
    page = context.new_page()
    page.goto(link)
    keep("quote", page.screenshot())
    context.close()


def take_phone(browser: Browser, page: Page, base: str) -> None:
    """Take the job's page at the width of a phone, with the same login."""
    state = page.context.storage_state()
    context = browser.new_context(viewport=PHONE, storage_state=state)
    phone = context.new_page()
    phone.goto(f"{base}/jobs/1/?station=pieces")
    phone.locator(".stations").scroll_into_view_if_needed()
    phone.evaluate("document.querySelector('.stations').scrollIntoView()")
    keep("phone", phone.screenshot())
    context.close()


def keep(name: str, content: bytes) -> None:
    """Write a picture with as many colours as the size allows."""
    image = Image.open(io.BytesIO(content)).convert("RGB")
    for colours in COLOURS:
        stream = io.BytesIO()
        image.quantize(colours, dither=Image.Dither.NONE).save(stream, "PNG", optimize=True)
        if stream.tell() <= MOST_BYTES:
            (PICTURES / f"{name}.png").write_bytes(stream.getvalue())
            print(f"{name:<10} {stream.tell() // 1000:>4} kB, {colours} colours")
            return
    raise SystemExit(f"{name}: larger than {MOST_BYTES} bytes with {COLOURS[-1]} colours")


if __name__ == "__main__":
    main()
