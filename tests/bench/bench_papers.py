"""Print how long each paper takes; run it by hand: python -m tests.bench.bench_papers."""

import os
import time
from collections.abc import Callable
from datetime import date

import django

from patterns.drawing.layout import draw_hide
from patterns.drawing.pieces import draw_piece_set
from patterns.hide import Hide
from patterns.layout.values import Layout, LayoutRequest, Placement
from tests.drawn_samples import boot, laid_out, long_shaft

DAY = date(2026, 3, 14)
COPIES = 400


def crowded() -> tuple[LayoutRequest, Layout]:
    """Return as many pieces as a layout takes, in rows on one large hide."""
    request, _layout = laid_out()
    ids = [piece.id for piece in request.pieces]
    places = tuple(
        Placement(ids[k % 3], "H-0099", 100.0 * (k % 25) + 20, 100.0 * (k // 25) + 20, 0.0, False)
        for k in range(COPIES)
    )
    large = Hide("H-0099", ((0, 0), (2600, 0), (2600, 1700), (0, 1700)))
    return LayoutRequest((large,), request.pieces), Layout(
        places, COPIES, COPIES, 1, 1.0, 2.0, 0, 0
    )


def timed(name: str, work: Callable[[], object]) -> None:
    """Print the first and the second time a piece of work takes."""
    seconds = []
    for _ in range(2):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    print(f"{name:<40} first {seconds[0]:.2f} s, again {seconds[1]:.2f} s")


def main() -> None:
    """Time every drawing and paper once cold and once warm."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    django.setup()
    from tests.documents.test_quote_paper import QUOTE
    from workshop.documents.cutting_sheet import cutting_sheet_pdf
    from workshop.documents.heading import SheetHeading
    from workshop.documents.layout_sheet import layout_pdf
    from workshop.documents.quote_paper import quote_pdf

    heading = SheetHeading("Workshop of the bench")
    pieces = boot(long_shaft())
    request, layout = crowded()
    timed("drawing of a piece set", lambda: draw_piece_set(pieces))
    timed("cutting sheet", lambda: cutting_sheet_pdf(pieces, heading=heading, made_on=DAY))
    timed(
        f"drawing of {COPIES} pieces on a hide",
        lambda: draw_hide(request.hides[0], request, layout, scale=0.2),
    )
    timed("layout sheet", lambda: layout_pdf(*laid_out(), heading=heading, made_on=DAY))
    timed("quote", lambda: quote_pdf(QUOTE))


if __name__ == "__main__":
    main()
