"""Print what pages weigh, when they are painted, and how soon the job's page answers a hand.

Run by hand: python -m tests.bench.bench_browser; it serves a demo of its own. Bytes are those sent,
compressed, with an empty cache (`Network.loadingFinished` of the browser's own protocol). Largest
contentful paint and the times of events are the browser's own (W3C Largest Contentful Paint, W3C
Event Timing); the wait for the new panel is from the last key to the answer in the page.
"""

import statistics
import time

from playwright.sync_api import Page

from tests.bench.take_pictures import DESK, chromium, log_in, served_demo

RUNS = 5
TURNS = 20
WATCH = """() => {
  window.paints = []; window.answers = [];
  new PerformanceObserver((list) => window.paints.push(...list.getEntries()
    .map((e) => e.startTime))).observe({type: "largest-contentful-paint", buffered: true});
  new PerformanceObserver((list) => window.answers.push(...list.getEntries()
    .filter((e) => e.interactionId).map((e) => e.duration)))
    .observe({type: "event", durationThreshold: 16, buffered: true});
}"""


def main() -> None:
    """Measure each page, then the job's page under a hand."""
    with served_demo() as (base, link), chromium() as browser:
        first = browser.new_context(viewport=DESK)
        page = first.new_page()
        log_in(page, link)
        state = first.storage_state()
        job = open_job(page)
        for path in ("/login/", "/", job, f"{job}?station=price", f"{job}solid/"):
            weigh(browser, state, base, path)
        page.goto(f"{base}{job}?station=price")
        answers(page)


def open_job(page: Page) -> str:
    """Return the address of the newest job on the bench that is still being quoted."""
    row = page.locator("main tbody tr", has_text="quoted").first
    return str(row.get_by_role("link").first.get_attribute("href"))


def weigh(browser, state, base: str, path: str) -> None:
    """Print the bytes and the paint of a page, each time with an empty cache."""
    sizes, paints = [], []
    for _ in range(RUNS):
        context = browser.new_context(viewport=DESK, storage_state=state)
        page = context.new_page()
        protocol = context.new_cdp_session(page)
        protocol.send("Network.enable")
        received: list[float] = []
        protocol.on(
            "Network.loadingFinished",
            lambda row, kept=received: kept.append(row["encodedDataLength"]),
        )
        page.add_init_script(f"({WATCH})()")
        page.goto(f"{base}{path}")
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(300)
        sizes.append(sum(received) / 1000)
        paints.append(max(page.evaluate("window.paints"), default=float("nan")))
        context.close()
    size, paint = statistics.median(sizes), statistics.median(paints)
    print(f"{path:28} {size:7.1f} kB  largest paint {paint:5.0f} ms, worst {max(paints):.0f}")


def answers(page: Page) -> None:
    """Change the pairs again and again; print the browser's times and the wait for the price."""
    page.evaluate(WATCH)
    waits = []
    for turn in range(TURNS):
        pairs = str(2 - turn % 2)
        start = time.perf_counter()
        page.locator("#id_pairs").fill("")
        page.locator("#id_pairs").press_sequentially(pairs)
        page.locator(".moved", has_text=f"to {pairs}.").wait_for(timeout=20_000)
        waits.append(1000 * (time.perf_counter() - start))
    times = sorted(page.evaluate("window.answers"))
    late = times[min(len(times) - 1, round(0.95 * len(times)))]
    middle = statistics.median(times)
    print(f"interaction to next paint: {len(times)} events, p50 {middle:.0f}, p95 {late:.0f} ms")
    print(f"a new price: p50 {statistics.median(waits):.0f} ms, worst {max(waits):.0f} ms")


if __name__ == "__main__":
    main()
