"""What a customer opens: light enough for a phone far out, and in our own letters."""

import gzip
import re
from pathlib import Path

import pytest
from django.conf import settings
from fontTools.ttLib import TTFont

from workshop.services.measuring_links import measuring_link_make, measuring_token
from workshop.services.quoting import link_token

pytestmark = pytest.mark.django_db

MOST_BYTES = 100_000
STATIC = Path(settings.BASE_DIR) / "workshop" / "static"
FONTS = Path(settings.BASE_DIR) / "patterns" / "drawing" / "fonts"
STYLES = (STATIC / "site.css").read_text(encoding="utf-8")
NAMED = r"/static/([\w./-]+)"


def sent_bytes(client, address):
    """Return what a browser with an empty cache is sent: page, styles, script, picture, all fonts.

    Text is sent compressed, as the server does (gzip at its usual level); fonts are so already.
    """
    page = client.get(address, headers={"accept-encoding": "gzip"})
    assert page.headers["Content-Encoding"] == "gzip"
    named = set(re.findall(NAMED, gzip.decompress(page.content).decode()))
    assert named == {"site.css", "sending.js", "favicon.svg"}
    files = sum(len(gzip.compress((STATIC / name).read_bytes())) for name in named)
    fonts = sum((FONTS / name).stat().st_size for name in set(re.findall(r"[\w-]+\.woff2", STYLES)))
    return len(page.content) + files + fonts


def test_a_quote_and_a_measuring_form_are_sent_in_100_kb(client, quote, owner):
    link = measuring_link_make(quote.commission.doll, by=owner)
    for address in (f"/q/{link_token(quote)}/", f"/m/{measuring_token(link)}/"):
        weight = sent_bytes(client, address)
        assert weight <= MOST_BYTES, (address, weight)
        print(f"{address[:3]} {weight / 1000:.1f} kB")


@pytest.mark.parametrize("name", re.findall(r"fonts/([\w-]+)\.woff2", STYLES))
def test_pages_and_papers_are_set_in_the_same_letters(name):
    paper, screen = (TTFont(FONTS / f"{name}.{kind}") for kind in ("ttf", "woff2"))
    letters = {code: glyph for code, glyph in paper.getBestCmap().items() if code >= ord(" ")}
    shown = screen.getBestCmap()
    assert {code for code in letters if code not in shown} == set()
    widths = {code: paper["hmtx"][glyph][0] for code, glyph in letters.items()}
    assert {code: screen["hmtx"][shown[code]][0] for code in letters} == widths
