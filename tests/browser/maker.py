"""A maker at the bench: walks our own pages by clicking and typing alone, and counts both."""

import re
import time
from decimal import Decimal
from io import BytesIO

from PIL import Image

AMOUNT = re.compile(r"[+−-]?\d[\d\u202f]*(?:\.\d+)?")

# What the short way in asks first: an hour's pay and the leather there is.
FIRST_ANSWERS = {
    "labour_rate_per_hour": "22",
    "leather_name": "Goat",
    "colour": "russet",
    "thickness_mm": "0.9",
    "length_mm": "500",
    "width_mm": "400",
    "paid": "24",
}


class Maker:
    """One person with a browser; every press, choice and typed field is counted.

    Every page that is reached must have no fault on it and be no wider than the screen.
    """

    def __init__(self, page, base):
        self.page, self.base = page, base
        self.clicks = self.typed = 0
        self.began = time.monotonic()

    def begin(self, path="/"):
        """Open the first page; from there on only what stands on the pages leads on."""
        self.page.goto(f"{self.base}{path}")

    def follow(self, name, within="main"):
        """Click a link by its words."""
        link = self.page.locator(within).get_by_role("link", name=name)
        self._leave(link.first.click)

    def press(self, name, *, exact=True, within="main"):
        """Press a button by its words; a page without faults must follow."""
        button = self.page.locator(within).get_by_role("button", name=name, exact=exact)
        self._leave(button.first.click)

    def _leave(self, click):
        self.clicks += 1
        with self.page.expect_navigation():
            click()
        assert self.page.locator(".faults").count() == 0, self.page.locator(".faults").inner_text()
        wide = self.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, f"{self.page.url} is {wide} px wider than the screen"

    def fits_a_phone(self):
        """Look at the page on a narrow screen too."""
        size = self.page.viewport_size
        self.page.set_viewport_size({"width": 390, "height": 844})
        assert self.page.evaluate("document.documentElement.scrollWidth") <= 390, self.page.url
        self.page.set_viewport_size(size)

    def unfold(self, words):
        """Open what is folded away."""
        self.clicks += 1
        self.page.locator("summary", has_text=words).first.click()

    def write(self, within="main", **values):
        """Fill fields by their names: type, choose from a list, or tick."""
        for name, value in values.items():
            field = self.page.locator(f"{within} [name='{name}']:visible").first
            kind = field.evaluate("field => field.type")
            if kind.startswith("select"):
                self.clicks += 1
                field.select_option(label=value)
            elif kind == "checkbox":
                self.clicks += 1
                field.set_checked(value)
            elif kind == "file":
                self.clicks += 1
                field.set_input_files(value)
            else:
                self.typed += 1
                field.fill(value)

    def read(self, selector="main"):
        """Return the words of a part of the page, as they are seen."""
        return self.page.locator(selector).first.inner_text()

    def cells(self, selector):
        """Return the words of a table's rows, cell by cell."""
        rows = self.page.locator(selector)
        return rows.evaluate_all(
            "rows => rows.map(row => [...row.cells].map(cell => cell.innerText.trim()))"
        )

    def figures(self, selector="dl.pairs"):
        """Return what stands beside each name of a list of figures."""
        found = self.page.locator(selector).first.evaluate(
            "list => [...list.querySelectorAll('dt')]"
            ".map(name => [name.innerText, name.nextElementSibling.innerText])"
        )
        return dict(found)

    def paper(self, name):
        """Return the bytes of the PDF behind a link of this page."""
        self.clicks += 1
        link = self.page.get_by_role("link", name=name).first
        address = link.evaluate("link => link.href")
        answer = self.page.request.get(address)
        assert answer.headers["content-type"] == "application/pdf"
        return answer.body()

    def tell(self, life):
        """Print what a life took; the figures are for a note, nothing depends on them."""
        seconds = time.monotonic() - self.began
        print(f"\n{life}: {self.clicks} clicks, {self.typed} fields typed, {seconds:.0f} s")


def money(text):
    """Return the first amount of a text."""
    return Decimal(AMOUNT.search(text).group().replace("\u202f", "").replace("−", "-"))


def photograph(name):
    """Return an invented photograph as a browser sends it."""
    stream = BytesIO()
    Image.new("RGB", (320, 240), "#7a4a2a").save(stream, "JPEG")
    return {"name": name, "mimeType": "image/jpeg", "buffer": stream.getvalue()}
