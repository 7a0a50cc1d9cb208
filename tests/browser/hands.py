"""Other hands than a mouse: the keyboard alone, a finger on a phone, and a browser without scripts.

Each goes through our pages as `tests.browser.maker.Maker` does and looks at what it needs itself.
"""

from tests.browser.maker import Maker

LOGGED_IN = "sessionid"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
LEAST_PX = 24  # WCAG 2.2, 2.5.8 Target Size (Minimum), level AA
MOST_STOPS = 150
# Where the focus is: whether it can be seen, and whether it came further down the page.
STOP = """(target) => {
  const here = document.activeElement, look = getComputedStyle(here);
  const box = here.getBoundingClientRect();
  const before = window.stoppedAt?.isConnected ? window.stoppedAt : null;
  window.stoppedAt = here;
  return {
    at: (here.name || here.innerText || here.tagName).trim().slice(0, 60),
    seen: look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2
      || look.boxShadow !== "none",
    shown: box.width > 0 && box.bottom > 0 && box.top < innerHeight && box.right > 0,
    later: !before || before === here
      || Boolean(before.compareDocumentPosition(here) & Node.DOCUMENT_POSITION_FOLLOWING),
    end: here === document.body, reached: here === target,
  };
}"""
UNSEEN_WHEN_LEFT = """[...document.querySelectorAll("a, button, input, select, textarea")]
  .filter((part) => part !== document.activeElement)
  .filter((part) => getComputedStyle(part).outlineStyle !== "none")
  .map((part) => part.outerHTML.slice(0, 80))"""
SMALL = """(least) => [...document.querySelectorAll(
    "main button, main .button, main input:not([type=hidden]), main select, main textarea, "
    + "main summary, main .station, .masthead a, .masthead summary, .masthead button")]
  .filter((part) => part.checkVisibility() && !part.closest(".unseen"))
  .map((part) => [part, part.getBoundingClientRect()])
  .filter(([, box]) => box.width && (box.width < least || box.height < least))
  .map(([part, box]) => `${part.outerHTML.slice(0, 90)} ${box.width} x ${box.height}`)"""


class Keys(Maker):
    """Only Tab, Shift+Tab, Enter, the space bar, arrows and letters are pressed."""

    def to(self, target):
        """Go on with Tab until the focus is on a part of the page; each stop must be seen."""
        wanted = target.element_handle()
        for _stop in range(MOST_STOPS):
            self.page.keyboard.press("Tab")
            stop = self.page.evaluate(STOP, wanted)
            assert not stop["end"], f"{self.page.url} ended before {target}"
            assert stop["seen"], f"{self.page.url}: no focus seen on {stop['at']}"
            assert stop["shown"], f"{self.page.url}: out of sight is {stop['at']}"
            assert stop["later"], f"{self.page.url}: {stop['at']} comes out of turn"
            if stop["reached"]:
                return
        raise AssertionError(f"{self.page.url}: no way to {target}")

    def skip(self):
        """Take the first stop of a page, the way past its head, and go on from there."""
        link = self.page.get_by_role("link", name="Skip to the content")
        self.to(link)
        assert link.bounding_box()["x"] >= 0
        self.page.keyboard.press("Enter")

    def _leave(self, click):
        super()._leave(click)
        assert not self.page.evaluate(UNSEEN_WHEN_LEFT)  # a ring around all would show nothing

    def follow(self, name, within="main"):
        self.to(self.page.locator(within).get_by_role("link", name=name).first)
        self._leave(lambda: self.page.keyboard.press("Enter"))

    def press(self, name, *, exact=True, within="main"):
        self.to(self.page.locator(within).get_by_role("button", name=name, exact=exact).first)
        self._leave(lambda: self.page.keyboard.press("Space"))

    def write(self, within="main", **values):
        """Fill fields in the order of the page: letters for boxes, arrows for lists."""
        for name, value in values.items():
            field = self.page.locator(f"{within} [name='{name}']:visible").first
            self.to(field)
            self.typed += 1
            if field.evaluate("field => field.type").startswith("select"):
                self.choose(field, value)
            else:
                self.page.keyboard.press("Control+A")
                self.page.keyboard.type(value)

    def choose(self, field, words):
        """Go down a list with the arrow until a choice of these words is taken."""
        for _choice in range(field.locator("option").count()):
            if field.evaluate("field => field.selectedOptions[0].label.trim()") == words:
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"no {words} in {field}")

    def open_station(self, name):
        station = self.page.locator(f"#station-{name}")
        self.to(station)
        self.page.keyboard.press("Enter")
        self.page.locator(f"#station-{name}[aria-current]").wait_for()
        self.is_still_on(station)

    def is_still_on(self, target):
        """What was used keeps the focus after the page was changed around it."""
        assert target.evaluate("part => part === document.activeElement")

    def has_no_trap(self):
        """Tab comes to an end of the page and the focus leaves it; back again by Shift+Tab."""
        for _stop in range(MOST_STOPS):
            self.page.keyboard.press("Tab")
            if self.page.evaluate(STOP)["end"]:
                break
        else:
            raise AssertionError(f"{self.page.url}: Tab never leaves the page")
        self.page.keyboard.press("Shift+Tab")
        assert not self.page.evaluate(STOP)["end"]


class Finger(Maker):
    """A finger on a phone: taps alone; what it taps is large enough, no page goes sideways."""

    def follow(self, name, within="main"):
        self._leave(self.page.locator(within).get_by_role("link", name=name).first.tap)

    def press(self, name, *, exact=True, within="main"):
        button = self.page.locator(within).get_by_role("button", name=name, exact=exact)
        self._leave(button.first.tap)

    def _leave(self, click):
        self.fits()
        super()._leave(click)
        self.fits()

    def fits(self):
        """No scrolling sideways, nothing to tap that is too small."""
        wide = self.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= PHONE["viewport"]["width"], f"{self.page.url} is {wide} px wide"
        assert not (small := self.page.evaluate(SMALL, LEAST_PX)), (self.page.url, small)

    def open_station(self, name):
        self.page.locator(f"#station-{name}").tap()
        self.page.locator(f"#station-{name}[aria-current]").wait_for()
        self.fits()


class Plain(Maker):
    """A browser without scripts: every change is a page of its own."""

    def open_station(self, name):
        self._leave(self.page.locator(f"#station-{name}").click)
