"""Print how long the job page's stages take; run it by hand: python -m tests.bench.bench_job_page.

It fills a database of its own with the demo workshop and forgets all that was kept before every
run, so each figure is a first time, as after a change of style, option or leather.
"""

import os
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

RUNS = 5
DAY = date(2026, 3, 14)


def main() -> None:
    """Make the demo in a folder that goes away again, and time its first job."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATA_DIR"] = folder
        os.environ.pop("DATABASE_URL", None)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        from workshop.services.demo import demo_load

        demo_load()
        time_stages(Path(folder))


def forget(folder: Path) -> None:
    """Drop everything the stages keep, on disk and in memory."""
    from patterns.drafting.lay_flat import LAID
    from patterns.drafting.layers import CUT
    from patterns.drawing.free_spot import _grid
    from patterns.drawing.labels import long_way_deg
    from patterns.drawing.pieces import _drawn_piece
    from patterns.geometry.curves import _monotone
    from patterns.last.fitting import forget_fitted
    from patterns.pieces.eyelets import _row
    from workshop.drafting import forget_drafted

    forget_fitted()
    forget_drafted()
    CUT.forget()
    LAID.forget()
    shutil.rmtree(folder / "cache", ignore_errors=True)
    for keeper in (_grid, _drawn_piece, long_way_deg, _monotone, _row):
        keeper.cache_clear()


def timed(name: str, work: Callable[[], object], before: Callable[[], None]) -> None:
    """Print the median and the longest of a few first times."""
    seconds = []
    for _ in range(RUNS):
        before()
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    print(f"{name:<44} {statistics.median(seconds):.3f} s, longest {max(seconds):.3f} s")


def time_stages(folder: Path) -> None:
    """Print the time of each stage, of the whole, of the page and of the papers."""
    from patterns.drawing.pieces import draw_piece_set
    from workshop.documents.cutting_sheet import cutting_sheet_pdf, sheet_count
    from workshop.documents.heading import SheetHeading
    from workshop.drafting import drafted
    from workshop.models import Quote
    from workshop.pictures import piece_pictures
    from workshop.services.quoting import _make_bill, _make_price, work_out

    quote = Quote.objects.first()
    choice = choice_of(quote)
    worked = work_out(choice)
    pieces = worked.pieces
    heading = SheetHeading("Workshop of the bench")

    def price() -> None:
        _make_bill(worked)
        _make_price(worked)

    def first(name: str, work: Callable[[], object]) -> None:
        timed(name, work, lambda: forget(folder))

    first("draft with last and worn shoe", lambda: drafted(worked.asked))
    first("bill and price", price)
    first("drawing of the pieces", lambda: draw_piece_set(pieces))
    first("sheet count alone", lambda: sheet_count(pieces, heading=heading, made_on=DAY))
    first("pictures with sheet count", lambda: piece_pictures(pieces, paper="A4"))
    first("work_out, the whole road", lambda: work_out(choice))
    first("cutting sheet PDF", lambda: cutting_sheet_pdf(pieces, heading=heading, made_on=DAY))
    time_pages(folder, quote, choice, first)


def on_new_foot(folder: Path, choice: Any) -> None:
    """Forget all but what stands in for the pieces of the style."""
    from workshop.drafting import stand_in_draw

    forget(folder)
    stand_in_draw(choice.style.style.file_name)


def choice_of(quote: Any) -> Any:
    """Return a quote's job with the first style and leather offered."""
    from workshop.selectors.orders import hides_on_shelf, styles_offered
    from workshop.services.quoting import Choice

    return Choice(
        commission=quote.commission,
        foot=quote.foot,
        style=styles_offered()[0],
        hide=hides_on_shelf()[0],
        pair_count=quote.pair_count,
    )


def time_pages(
    folder: Path, quote: Any, choice: Any, first: Callable[[str, Callable[[], object]], None]
) -> None:
    """Print the time of the job page as asked for by its form, and of the quote's papers."""
    from django.conf import settings
    from django.contrib.auth import get_user_model
    from django.test import Client
    from django.urls import reverse

    from workshop.models import Member

    user = get_user_model().objects.create_user(username="bench")
    Member.objects.create(user=user, role="owner")
    client = Client(HTTP_HOST="localhost")
    client.force_login(user)

    def got(address: str, query: dict[str, object] | None = None) -> Callable[[], object]:
        def get() -> None:
            answer = client.get(address, query or {}, headers={"HX-Request": "true"})
            assert answer.status_code == 200, answer.status_code

        return get

    job = reverse("job", args=[quote.commission_id])
    chosen: dict[str, object] = {
        "foot": quote.foot_id,
        "style": choice.style.pk,
        "hide": choice.hide.pk,
        "pairs": 1,
        "eyelet_count": 4,
    }
    timed("job page, new foot, estimate", got(job, chosen), lambda: on_new_foot(folder, choice))
    first("job page, new foot, with its pieces", got(job, {**chosen, "draw": "now"}))
    settings.ESTIMATE_FIRST = False
    first("job page, pieces open", got(job, {**chosen, "station": "pieces"}))
    first("job page, price open", got(job, {**chosen, "station": "price"}))
    first("breakdown PDF", got(reverse("quote-breakdown", args=[quote.pk])))
    first("quote PDF", got(reverse("quote-paper", args=[quote.pk])))
    first("maker's quote page", got(reverse("quote", args=[quote.pk])))


if __name__ == "__main__":
    main()
