"""Laying out in the background: one layout, one over several leathers, pairs counted in stock."""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from django.utils.translation import gettext as _

from patterns.errors import LayoutError
from patterns.exchange.layout_file import document_from_layout, request_from_document
from patterns.layout import (
    Layout,
    LayoutProgress,
    lay_out,
    layout_waste,
    only_asked,
    pairs_that_fit,
)
from patterns.layout.values import LayoutRequest

Report = Callable[[int, str], None]
IsStopped = Callable[[], bool]
LAYOUT_SHARE = 0.6  # of the time; the rest counts how many pairs the hide would give


class StoppedError(Exception):
    """Somebody asked the work to stop; raised out of its own progress report."""


def run_layout(inputs: dict[str, Any], report: Report, is_stopped: IsStopped) -> dict[str, Any]:
    """Lay the pieces out, then see how many whole pairs the hide would give in all."""
    request = request_from_document(inputs["instance"])
    seconds = float(inputs["seconds"])

    def on_progress(progress: LayoutProgress) -> None:
        text = _("%(pairs)d pairs laid, %(used)d %% of the whole hide covered, try %(step)d") % {
            "pairs": progress.layout.complete_sets,
            "used": round(100 * progress.layout.density),
            "step": progress.step,
        }
        report(int(100 * LAYOUT_SHARE * progress.share), text)

    layout = lay_out(
        request,
        seed=int(inputs["seed"]),
        seconds=seconds * LAYOUT_SHARE,
        clock=time.monotonic,
        on_progress=on_progress,
        is_cancelled=is_stopped,
    )
    if not any(piece.per_set for piece in request.pieces):
        return layout_result(request, layout)  # pieces cut again make no pair
    report(int(100 * LAYOUT_SHARE), _("counting the pairs the whole hide gives"))
    pairs, most = pairs_that_fit(
        request,
        seed=int(inputs["seed"]),
        seconds=seconds * (1.0 - LAYOUT_SHARE),
        clock=time.monotonic,
        is_cancelled=is_stopped,
    )
    # Pieces fixed by hand stay, whatever else would give more pairs.
    if not request.fixed and layout.complete_sets < min(pairs, _pairs_asked(request)):
        layout = only_asked(request, most)
    return layout_result(request, layout, pairs_that_fit=pairs)


def run_stock_layout(
    inputs: dict[str, Any], report: Report, is_stopped: IsStopped
) -> dict[str, Any]:
    """Lay the pieces of several lines out on the hides of their leather, a leather at a time."""
    parts = inputs["parts"]
    results = []
    for number, part in enumerate(parts):
        request = request_from_document(part["instance"])

        def on_progress(
            progress: LayoutProgress, *, number: int = number, leather: str = part["leather"]
        ) -> None:
            text = _("%(leather)s: %(placed)d of %(of)d pieces laid, try %(step)d") % {
                "leather": leather,
                "placed": progress.layout.placed,
                "of": progress.layout.requested,
                "step": progress.step,
            }
            report(int(100 * (number + progress.share) / len(parts)), text)

        layout = lay_out(
            request,
            seed=int(inputs["seed"]),
            seconds=float(inputs["seconds"]) / len(parts),
            clock=time.monotonic,
            on_progress=on_progress,
            is_cancelled=is_stopped,
        )
        if is_stopped():
            raise StoppedError
        results.append(layout_result(request, layout))
    return {"parts": results}


def layout_result(
    request: LayoutRequest, layout: Layout, *, pairs_that_fit: int = 0
) -> dict[str, Any]:
    """Return a layout with what it wastes, as the work of laying out leaves it behind."""
    waste = layout_waste(request, layout)
    return {
        "layout": document_from_layout(layout),
        "waste": {
            "used_area_mm2": waste.used_area_mm2,
            "occupied_area_mm2": waste.occupied_area_mm2,
            "waste_share": waste.waste_share,
            "usable_area_mm2": waste.usable_area_mm2,
            "pairs": waste.pairs,
            "pairs_that_fit": max(pairs_that_fit, waste.pairs),
        },
    }


def run_stock_pairs(
    inputs: dict[str, Any], report: Report, is_stopped: IsStopped
) -> dict[str, Any]:
    """Count, by laying out, how many whole pairs each hide gives by itself."""
    request = request_from_document(inputs["instance"])
    pairs: dict[str, int] = {}
    for done, hide in enumerate(request.hides):
        if is_stopped():
            raise StoppedError
        report(100 * done // len(request.hides), hide.id)
        try:
            pairs[hide.id], _layout = pairs_that_fit(
                replace(request, hides=(hide,)),
                seed=int(inputs["seed"]),
                seconds=float(inputs["seconds"]),
                clock=time.monotonic,
                is_cancelled=is_stopped,
            )
        except LayoutError:
            pairs[hide.id] = 0  # a piece is larger than this hide
    return {"pairs": pairs}


def _pairs_asked(request: LayoutRequest) -> int:
    return max(
        (piece.quantity // piece.per_set for piece in request.pieces if piece.per_set), default=0
    )
