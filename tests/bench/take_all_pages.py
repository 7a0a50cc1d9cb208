"""Take a picture of every page, to look at: python -m tests.bench.take_all_pages FOLDER.

It serves the invented demo workshop, follows the links from the first page until there is no page
of another kind, and writes each at 390 and 1280 px, light and dark, as FOLDER/<name>-<width>.png.
"""

import os
import sys
from pathlib import Path
from urllib.parse import urlsplit

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")

import django
from django.urls import Resolver404, resolve

from tests.bench.take_pictures import chromium, log_in, served_demo

SIZES = {390: 844, 1280: 860}
SCHEMES = ("light", "dark")
PAGES_MOST = 200
LINKS = "[...document.querySelectorAll('a[href]')].map((link) => link.href)"
MORE = ("/search/?q=1",)  # reached by typing, not by a link


def main() -> None:
    """Take all pictures and say how many there are."""
    django.setup()
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with served_demo() as (base, link), chromium() as browser:
        page = browser.new_context(viewport={"width": 1280, "height": 860}).new_page()
        log_in(page, link)
        waiting, seen = ["/", *MORE], set()
        while waiting and len(seen) < PAGES_MOST:
            address = waiting.pop(0)
            name = name_of(address)
            if name is None or name in seen:
                continue
            seen.add(name)
            answer = page.request.get(base + address)
            if not answer.headers.get("content-type", "").startswith("text/html"):
                continue
            page.goto(base + address)
            waiting += [
                urlsplit(href)._replace(scheme="", netloc="", fragment="").geturl()
                for href in page.evaluate(LINKS)
                if href.startswith(base)
            ]
            take(page, folder, name)
    print(f"{len(seen)} addresses opened, {len(list(folder.glob('*.png')))} pictures in {folder}")


def name_of(address: str) -> str | None:
    """Return what the table of doors calls an address, with its station; None for no page."""
    parts = urlsplit(address)
    try:
        name = resolve(parts.path).url_name
    except Resolver404:
        return None
    station = parts.query.rpartition("station=")[2] if "station=" in parts.query else ""
    return f"{name}-{station}" if station.isalpha() else name


def take(page, folder, name):
    """Write the page as it is shown at every width and in both schemes."""
    for width, height in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            dark = "-dark" if scheme == "dark" else ""
            page.screenshot(path=folder / f"{name}-{width}{dark}.png", full_page=True)
    page.emulate_media(color_scheme="light")


if __name__ == "__main__":
    main()
