"""The five stations of a job: each with its state and its one figure."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from workshop.models import BackgroundJob, WorkshopProfile
from workshop.pictures import piece_pictures
from workshop.services.quoting import Worked

STATIONS = ("foot", "pieces", "leather", "price", "paper")


@dataclass(frozen=True, slots=True)
class Station:
    """One of the five: its name, how it stands, its figure, and the query that opens it."""

    key: str
    name: str
    figure: str
    state: str
    is_faulty: bool
    query: str


def stations_of(worked: Worked | None, *, query: str, with_money: bool) -> list[Station]:
    """Return the stations in their order; price only for those who may see money."""
    makers = {
        "foot": (_("Foot"), _foot),
        "pieces": (_("Pieces"), _pieces),
        "leather": (_("Leather"), _leather),
        "price": (_("Price"), _price),
        "paper": (_("Paper"), _paper),
    }
    stations = []
    for key, (name, make) in makers.items():
        if key == "price" and not with_money:
            continue
        figure, state = make(worked) if worked is not None else ("–", _("not yet"))
        faulty = worked is not None and key in worked.faults
        if faulty:
            figure, state = "–", _("look here")
        stations.append(Station(key, name, figure, state, faulty, f"{query}&station={key}"))
    return stations


def _foot(worked: Worked) -> tuple[str, str]:
    if worked.foot is None:
        return "–", _("not yet")
    length = worked.choice.foot.foot_length.normalize()
    given = len(worked.foot.measures_mm)
    return f"{length:f} mm", _("%(given)d of 13 measured") % {"given": given}


def _pieces(worked: Worked) -> tuple[str, str]:
    if worked.is_waiting:
        return "–", _("not drawn yet")
    if worked.pieces is None:
        return "–", _("not yet")
    count = sum(piece.quantity for piece in worked.pieces.pieces)
    warnings = sum(message.level != "info" for message in worked.pieces.messages)
    state = (
        ngettext("%(n)d warning", "%(n)d warnings", warnings) % {"n": warnings}
        if warnings
        else _("no warnings")
    )
    return ngettext("%(n)d piece", "%(n)d pieces", count) % {"n": count}, state


def _leather(worked: Worked) -> tuple[str, str]:
    if worked.is_waiting:
        return "–", _("not yet")
    work = worked.layout_work
    if work is not None and not work.is_over:
        return f"{work.progress_percent} %", _("laying out")
    if worked.waste is not None and not worked.is_measured:
        found = {"pairs": worked.waste["pairs"], "asked": worked.choice.pair_count}
        return _("%(pairs)d of %(asked)d pairs") % found, _("not enough room")
    if worked.waste is not None:
        used = round(100 * (1 - worked.waste["waste_share"]))
        return _("%(used)d %% used") % {"used": used}, _("laid out")
    if work is not None and work.state == BackgroundJob.State.FAILED:
        return "–", _("layout failed")
    return _("estimated"), _("not laid out")


def _price(worked: Worked) -> tuple[str, str]:
    if worked.estimate is not None:
        return f"≈ {worked.estimate.price} {worked.estimate.currency}", _("estimated")
    if worked.breakdown is None:
        return "–", _("not yet")
    state = _("measured") if worked.is_measured else _("leather estimated")
    return f"{worked.breakdown.price} {worked.breakdown.currency}", state


def _paper(worked: Worked) -> tuple[str, str]:
    if worked.pieces is None:
        return "–", _("not yet")
    paper = WorkshopProfile.current().paper
    source = worked.asked.source() if worked.asked is not None else None
    count = piece_pictures(worked.pieces, paper=paper, source=source).sheets
    return ngettext("%(n)d sheet", "%(n)d sheets", count) % {"n": count}, paper
