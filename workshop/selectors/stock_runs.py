"""Jobs without a customer as their page shows them: worked out as far as it goes.

    lines -> pieces of each -> one layout for each leather -> cost of every pair

Like `services.quoting.work_out`, a stage that cannot be done says why and leaves what follows
empty. Once the work has begun, all of it is read from the plan that was written then.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from costing.errors import CostError
from patterns.errors import PatternError
from patterns.exchange.layout_file import (
    document_from_request,
    layout_from_document,
)
from patterns.layout import LAYOUT_ENGINE
from patterns.layout.ground import piece_areas_mm2
from patterns.layout.values import Layout, LayoutRequest
from workshop import bridge
from workshop.models import (
    BackgroundJob,
    Hide,
    RateCard,
    StockLine,
    StockRun,
    WorkshopProfile,
)
from workshop.selectors.rubbing import Rubbing, options_of_pair, rubbing_of
from workshop.selectors.stock import OUTLINES
from workshop.services.cuttings import reserved_words
from workshop.services.quoting import Choice, Worked, usual_supplies, work_out
from workshop.stock_costs import LeatherOnHide, LineCost, LineToPrice, line_costs
from workshop.stock_layouts import (
    HideUse,
    LinePieces,
    hides_used,
    joined_request,
    pairs_laid,
    whole_pairs,
)
from workshop.work import STOCK_LAYOUT, work_found, work_key, work_latest

HIDES_SHOWN = 60


@dataclass(slots=True)
class LeatherPart:
    """All lines of one leather with the hides chosen of it, and the layout once it is found."""

    leather: str
    lines: list[LinePieces]
    hides: list[Hide]
    request: LayoutRequest | None = None
    layout: Layout | None = None
    used: list[HideUse] = field(default_factory=list)


@dataclass(slots=True)
class LineWorked:
    """One line with what follows from it; ``whole`` pairs of it have found room."""

    line: StockLine
    worked: Worked
    whole: int | None = None
    cost: LineCost | None = None

    @property
    def rubbing(self) -> Rubbing | None:
        """Return what to heed of its leather; None where its colour is not doubted."""
        return rubbing_of(self.worked) if self.worked.values else None

    @property
    def stops(self) -> list[str]:
        """Return why its pieces may not be cut."""
        pieces = self.worked.pieces
        if pieces is None:
            return []
        return [said.text for said in pieces.messages if said.level == "stop"]


@dataclass(slots=True)
class RunWorked:
    """A job for stock worked out; ``faults`` are in the order in which they can be mended."""

    run: StockRun
    lines: list[LineWorked]
    parts: list[LeatherPart]
    faults: list[str]
    layout_key: str = ""
    layout_work: BackgroundJob | None = None
    rates: RateCard | None = None

    @property
    def pair_count(self) -> int:
        """Return how many pairs are to be made."""
        return sum(row.line.pair_count for row in self.lines)

    @property
    def can_be_laid(self) -> bool:
        """Return whether there is something to lay out, and on what."""
        return bool(self.parts) and all(part.request is not None for part in self.parts)

    @property
    def is_laid(self) -> bool:
        """Return whether every pair has found room."""
        return bool(self.parts) and all(row.whole == row.line.pair_count for row in self.lines)


def run_lines(run: StockRun) -> list[StockLine]:
    """Return the lines of a run in their order."""
    return list(run.lines.select_related("style__style", "foot__doll", "lot"))


def run_work_out(run: StockRun, *, with_money: bool = True) -> RunWorked:
    """Return all that follows from a run's lines and hides; stores nothing but cached geometry."""
    lines = [LineWorked(line, _pieces(line)) for line in run_lines(run)]
    rates = RateCard.objects.prefetch_related("steps").order_by("-version").first()
    worked = RunWorked(run, lines, [], [], rates=rates)
    if not lines:
        worked.faults.append(_("There is no line yet: say which style, sizes and leather."))
        return worked
    for row in lines:
        said = [*row.worked.faults.values(), *row.stops]
        worked.faults += [f"{row.line}: {s}" for s in said]
    if any(row.worked.pieces is None for row in lines):
        return worked
    worked.parts = _parts(worked)
    if worked.can_be_laid:
        try:
            whole_request(worked.parts)
        except PatternError as error:
            worked.faults.append(str(error))
        else:
            _find_layout(worked)
    if with_money and worked.is_laid:
        _count_costs(worked)
    return worked


def _pieces(line: StockLine) -> Worked:
    choice = Choice(
        commission=None,
        foot=line.foot,
        style=line.style,
        hide=None,
        lot=line.lot,
        pair_count=line.pair_count,
        options=options_of_pair(line.style, line.lot, is_lined=line.is_lined),
    )
    return work_out(choice, with_money=False)


def _parts(worked: RunWorked) -> list[LeatherPart]:
    """Return the lines by leather, each with its hides and its request as far as it goes."""
    # The search fills hides in their order: remnants first, so that whole hides stay whole.
    found = worked.run.hides.select_related("lot", "reserved_for").order_by("area_mm2", "number")
    chosen = sorted(found, key=lambda hide: hide.remnant_of_id is None)
    worked.faults += [reserved_words(hide) for hide in chosen if _taken(hide, worked.run)]
    parts: dict[str, LeatherPart] = {}
    for row in worked.lines:
        leather = row.line.leather
        hides = [hide for hide in chosen if leather_of(hide) == leather]
        part = parts.setdefault(leather, LeatherPart(leather, [], hides))
        assert row.worked.pieces is not None
        part.lines.append(LinePieces(row.line.position, row.worked.pieces, row.line.pair_count))
    for part in parts.values():
        if not part.hides:
            words = _("No hide of %(leather)s is chosen: tick one under Hides.")
            worked.faults.append(words % {"leather": part.leather})
            continue
        try:
            part.request = joined_request(
                part.lines,
                [bridge.hide_from_record(hide) for hide in part.hides],
                spacing_mm=float(worked.run.spacing_mm),
            )
        except PatternError as error:
            worked.faults.append(f"{part.leather}: {error}")
    return list(parts.values())


def whole_request(parts: Sequence[LeatherPart]) -> LayoutRequest:
    """Return all hides and all pieces as one request, which the one cut list keeps.

    Raises
    ------
    LayoutError
        They are more than a layout takes.
    """
    asked = [part.request for part in parts if part.request is not None]
    return LayoutRequest(
        hides=tuple(hide for request in asked for hide in request.hides),
        pieces=tuple(piece for request in asked for piece in request.pieces),
        spacing_mm=asked[0].spacing_mm,
    )


def leather_of(hide: Hide) -> str:
    """Return a hide's leather by its name and colour, as `StockLine.leather`."""
    return f"{hide.lot.name}, {hide.lot.colour}"


def layout_inputs(worked: RunWorked) -> list[dict[str, Any]]:
    """Return what is to be laid out, a request for each leather."""
    return [
        {"leather": part.leather, "instance": document_from_request(part.request)}
        for part in worked.parts
        if part.request is not None
    ]


def _find_layout(worked: RunWorked) -> None:
    """Take the finished layout of just these pieces on these hides, if there is one."""
    inputs = {"engine": LAYOUT_ENGINE, "job": worked.run.pk, "parts": layout_inputs(worked)}
    worked.layout_key = work_key(STOCK_LAYOUT, inputs)
    worked.layout_work = work_latest(STOCK_LAYOUT, worked.layout_key)
    done = work_found(STOCK_LAYOUT, worked.layout_key)
    if done is None:
        return
    whole: dict[int, int] = {}
    for part, result in zip(worked.parts, done.result["parts"], strict=True):
        assert part.request is not None
        part.layout = layout_from_document(result["layout"])
        part.used = hides_used(part.request, part.layout)
        whole |= whole_pairs(part.request, part.layout)
    for row in worked.lines:
        row.whole = whole.get(row.line.position, 0)


def _count_costs(worked: RunWorked) -> None:
    """Count every pair's cost by the hides it lies on."""
    if worked.rates is None:
        worked.faults.append(_("There is no rate card yet; make one under Rates."))
        return
    rows = {row.line.position: row for row in worked.lines}
    lines = {
        line.position: LineToPrice(line.pieces, _leather(part, line), line.pair_count)
        for part in worked.parts
        for line in part.lines
    }
    try:
        costs = line_costs(
            list(lines.values()),
            rates=worked.rates,
            supplies=usual_supplies(),
            currency=WorkshopProfile.current().currency,
        )
    except CostError as error:
        worked.faults.append(str(error))
        return
    for position, cost in zip(lines, costs, strict=True):
        rows[position].cost = cost


def _leather(part: LeatherPart, line: LinePieces) -> list[LeatherOnHide]:
    """Return what each pair of a line takes of each hide, the hides it does not lie on left out."""
    assert part.request is not None
    assert part.layout is not None
    areas = piece_areas_mm2(part.request)
    pairs = pairs_laid(part.request, part.layout, line)
    found = []
    for use in part.used:
        hide = next(hide for hide in part.hides if hide.code == use.code)
        of_pairs = tuple(
            sum(areas[row.id] for row in pair if row.container == use.code) for pair in pairs
        )
        if any(of_pairs):
            terms = bridge.leather_from_hide(hide)
            found.append(LeatherOnHide(use.code, terms, use.waste_share, of_pairs))
    return found


def leathers_on_shelf() -> set[tuple[str, str]]:
    """Return name and colour of every leather of which a hide is free."""
    free = Hide.objects.filter(state=Hide.State.ON_SHELF).order_by()
    return set(free.values_list("lot__name", "lot__colour").distinct())


@dataclass(frozen=True, slots=True)
class HideOffered:
    """A hide that a run may be cut from; ``taken_by`` is why it cannot be, empty if it can."""

    hide: Hide
    is_chosen: bool
    taken_by: str


def hides_offered(run: StockRun, lines: Sequence[StockLine]) -> list[HideOffered]:
    """Return the free hides of the lines' leathers, remnants first, and those chosen before."""
    leathers = Q(pk=None)
    for line in lines:
        leathers |= Q(lot__name=line.lot.name, lot__colour=line.lot.colour)
    chosen = set(run.hides.values_list("pk", flat=True))
    free = leathers & (
        Q(state=Hide.State.ON_SHELF) | Q(state=Hide.State.RESERVED, reserved_for=run.commission_id)
    )
    found = Hide.objects.select_related("lot", "reserved_for").defer(*OUTLINES)
    # Those chosen come first: whatever is left off, they stay ticked.
    rows = list(found.filter(pk__in=chosen))
    others = found.filter(free).exclude(pk__in=chosen).order_by("-number")
    rows += others[: max(0, HIDES_SHOWN - len(rows))]
    rows.sort(key=lambda hide: (leather_of(hide), hide.remnant_of_id is None))
    return [HideOffered(hide, hide.pk in chosen, _taken(hide, run)) for hide in rows]


def _taken(hide: Hide, run: StockRun) -> str:
    if hide.state == Hide.State.ON_SHELF or hide.reserved_for_id == run.commission_id:
        return ""
    if hide.reserved_for is not None:
        return _("reserved for %(job)s") % {"job": hide.reserved_for.code}
    return str(hide.get_state_display())
