"""Jobs without a customer: planned, laid out, begun, and their pairs put on the shelf."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from operator import itemgetter
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.stock_cost import share_out
from patterns.layout.cutting_order import cutting_order
from workshop.models import (
    Article,
    BackgroundJob,
    Commission,
    FinishedPair,
    FootVersion,
    Hide,
    LeatherLot,
    ReservedSupply,
    StockLine,
    StockRun,
    StyleVersion,
)
from workshop.models.stock_runs import LINES_MOST
from workshop.selectors.stock_runs import RunWorked, layout_inputs, whole_request
from workshop.services.cut_list_making import cut_list_of
from workshop.services.cuttings import hide_reserve, hides_release_all
from workshop.services.orders import commission_move, commission_taken_by
from workshop.services.pairs import pair_put
from workshop.services.records import audit_write, fields_of, record_save
from workshop.services.reservations import supplies_release, supplies_reserve
from workshop.stock_layouts import cut_together, line_letter
from workshop.stock_plans import plan_of
from workshop.work import LAYOUT_SEED, STOCK_LAYOUT, work_start

State = Commission.State
PLANNED = State.MEASURED  # sizes are known from the start; nothing is quoted
SECONDS_TO_LAY_OUT = 20  # for each leather
SECONDS_MOST = 60  # for all of them, well within the worker's time


@transaction.atomic
def run_take_in(
    *,
    note: str,
    form_key: str | None,
    style: StyleVersion,
    lot: LeatherLot,
    pairs: Mapping[FootVersion, int],
    is_lined: bool = True,
    by: AbstractBaseUser | None,
) -> StockRun:
    """Take in a job without a customer with its first lines; a form sent twice is one job.

    Raises
    ------
    ValidationError
        There would be too many lines.
    """
    taken = commission_taken_by(form_key)
    if taken is not None and taken.is_for_stock:
        return taken.stock_run
    commission = Commission(note=note, state=PLANNED, form_key=form_key)
    record_save(commission, by=by, action="taken in")
    run = StockRun(commission=commission)
    record_save(run, by=by, action="begun to plan")
    lines_add(run, style=style, lot=lot, pairs=pairs, is_lined=is_lined, by=by)
    return run


@transaction.atomic
def lines_add(
    run: StockRun,
    *,
    style: StyleVersion,
    lot: LeatherLot,
    pairs: Mapping[FootVersion, int],
    is_lined: bool = True,
    by: AbstractBaseUser | None,
) -> list[StockLine]:
    """Add a line for each size of which pairs are wanted; one that is there gets more of them.

    ``is_lined``: leather whose colour may rub is lined.

    Raises
    ------
    ValidationError
        The work has begun, there would be too many lines, or too many pairs of one.
    """
    _planned(run)
    made = []
    for foot, count in pairs.items():
        line = StockLine.objects.filter(run=run, style=style, foot=foot, lot=lot).first()
        if line is None:
            last = run.lines.aggregate(last=Max("position"))["last"] or 0
            line = StockLine(run=run, position=last + 1, style=style, foot=foot, lot=lot)
            line.pair_count = 0
        line.pair_count += count
        line.is_lined = is_lined
        record_save(line, by=by, action="line of the job")
        made.append(line)
    if run.lines.count() > LINES_MOST:
        raise ValidationError(
            _("A job for stock takes %(most)d lines at most; make a second job of the rest.")
            % {"most": LINES_MOST},
            code="too_many",
        )
    return made


@transaction.atomic
def line_change(line: StockLine, *, pair_count: int, by: AbstractBaseUser | None) -> None:
    """Make more or fewer pairs of a line.

    Raises
    ------
    ValidationError
        The work has begun, or the number is out of range.
    """
    _planned(line.run)
    line.pair_count = pair_count
    record_save(line, by=by, columns=["pair_count"])


@transaction.atomic
def line_remove(line: StockLine, *, by: AbstractBaseUser | None) -> None:
    """Take a line out while nothing is begun."""
    _planned(line.run)
    audit_write(line, by=by, action="taken out")
    line.delete()


@transaction.atomic
def hides_choose(
    run: StockRun, hides: Iterable[Hide], *, spacing_mm: Decimal, by: AbstractBaseUser | None
) -> None:
    """Say which hides the job is to be cut from, and how far apart; nothing is kept for it yet."""
    _planned(run)
    before = {"hides": sorted(run.hides.values_list("number", flat=True)), **fields_of(run)}
    run.spacing_mm = spacing_mm
    record_save(run, by=by, columns=["spacing_mm"])
    run.hides.set(hides)
    audit_write(run, by=by, action="hides chosen", before=before)


def _planned(run: StockRun) -> Commission:
    """Lock a job, and refuse what may only be done before its work begins."""
    commission = Commission.objects.select_for_update().get(pk=run.pk)
    if commission.state != PLANNED:
        raise ValidationError(
            _("%(job)s is %(state)s; its lines and hides stay as they are.")
            % {"job": commission.code, "state": commission.get_state_display()},
            code="begun",
        )
    return commission


def stock_layout_start(worked: RunWorked, *, by: AbstractBaseUser | None) -> BackgroundJob:
    """Hand the one layout of all lines to the background worker.

    Raises
    ------
    ValidationError
        A line cannot be drawn, or a leather has no hide chosen.
    """
    if not worked.layout_key:
        raise ValidationError("; ".join(worked.faults) or _("There is nothing to lay out yet."))
    parts = layout_inputs(worked)
    seconds = min(SECONDS_TO_LAY_OUT * len(parts), SECONDS_MOST)
    inputs = {"parts": parts, "seconds": seconds, "seed": LAYOUT_SEED}
    return work_start(STOCK_LAYOUT, inputs, key=worked.layout_key, by=by)


@transaction.atomic
def run_begin(worked: RunWorked, *, by: AbstractBaseUser | None) -> None:
    """Begin the work: keep the hides and supplies, freeze every pair's cost, write the cut list.

    Of two jobs that want one hide the first has it; for the other nothing is changed.

    Raises
    ------
    ValidationError
        Something is not worked out, not every pair has found room, a hide is taken meanwhile, or
        lines or hides are no longer those it was worked out from.
    """
    commission = _planned(worked.run)
    _check_same(worked)
    plan = plan_of(worked)
    if worked.faults or plan is None:
        reasons = worked.faults or [_("Lay the pieces out first, so that every pair has room.")]
        raise ValidationError(reasons)
    # In one order, so that two jobs that begin at once never wait for each other.
    for row in sorted(plan["hides"], key=itemgetter("hide")):
        hide = Hide.objects.select_related("lot", "reserved_for").get(pk=row["hide"])
        if hide.state == Hide.State.CUT:
            raise ValidationError(
                _("%(hide)s was cut up meanwhile. Choose another hide.") % {"hide": hide.code}
            )
        hide_reserve(hide, commission=commission, by=by)
    before = fields_of(worked.run)
    worked.run.plan = plan
    worked.run.save(update_fields=["plan"])
    audit_write(worked.run, by=by, action="cost of every pair written down", before=before)
    was = fields_of(commission)
    commission.state = State.IN_WORK
    commission.save(update_fields=["state"])
    audit_write(commission, by=by, action=State.IN_WORK, before=was)
    supplies_reserve(commission, by=by)
    _cut_list(worked, commission, by=by)


def _check_same(worked: RunWorked) -> None:
    """Refuse what somebody changed between the working out and the press; under the job's lock."""
    columns = ("position", "style_id", "foot_id", "lot_id", "pair_count", "is_lined")
    lines = sorted(tuple(getattr(row.line, name) for name in columns) for row in worked.lines)
    hides = sorted(hide.pk for part in worked.parts for hide in part.hides)
    chosen = worked.run.hides.filter(pk__in=hides).count()
    run = StockRun.objects.get(pk=worked.run.pk)
    same_lines = sorted(run.lines.values_list(*columns)) == lines
    if not same_lines or chosen != len(hides) or run.spacing_mm != worked.run.spacing_mm:
        raise ValidationError(
            _("The lines or hides were changed meanwhile; look at the job again."), code="changed"
        )


def _cut_list(worked: RunWorked, commission: Commission, *, by: AbstractBaseUser | None) -> None:
    lines = [line for part in worked.parts for line in part.lines]
    request = whole_request(worked.parts)
    # Hide by hide, so that a copy's number is that of its pair.
    order = {hide.id: k for k, hide in enumerate(request.hides)}
    placements = sorted(
        (row for part in worked.parts if part.layout for row in part.layout.placements),
        key=lambda row: order[row.container],
    )
    together = cut_together(lines)
    steps = cutting_order(together, pair_count=1, request=request, placements=placements)
    styles = dict.fromkeys(row.line.style.style.name for row in worked.lines)
    sides = {line_letter(row.line.position): row.line.foot.foot_side for row in worked.lines}
    cut_list_of(
        commission,
        request=request,
        steps=steps,
        pieces=together,
        hides={hide.code: hide for part in worked.parts for hide in part.hides},
        style=", ".join(styles)[:120],
        pair_count=worked.pair_count,
        drawn_foot=lambda piece: sides[piece.split(" ", 1)[0]],
        by=by,
    )


@transaction.atomic
def run_finish(
    run: StockRun, made: Mapping[int, int], *, by: AbstractBaseUser | None
) -> tuple[list[FinishedPair], list[ReservedSupply]]:
    """Put the pairs that were made on the shelf at their cost; the supplies are used up.

    Parameters
    ----------
    run : StockRun
    made : mapping
        How many pairs came out well, by the line's position. Where some were spoilt, those that
        came out bear what all of the line cost.

    Returns
    -------
    tuple
        The pairs, and the supplies the shelf did not hold enough of.

    Raises
    ------
    ValidationError
        The work is not begun or is over, or a number is out of range; field ``made-<position>``.
    """
    commission = Commission.objects.select_for_update().get(pk=run.pk)
    run.refresh_from_db()
    if commission.state != State.IN_WORK or run.plan is None:
        raise ValidationError(
            _("%(job)s is %(state)s: only pairs of a job in work go on the shelf.")
            % {"job": commission.code, "state": commission.get_state_display()},
            code="not_in_work",
        )
    counts = {line["position"]: made.get(line["position"], 0) for line in run.plan["lines"]}
    _check_made(run.plan, counts)
    short = commission_move(commission, to=State.FINISHED, by=by)
    pairs = [
        pair
        for line in run.plan["lines"]
        for pair in _shelved(commission, run.plan, line, counts[line["position"]], by=by)
    ]
    return pairs, short


def _check_made(plan: Mapping[str, Any], counts: Mapping[int, int]) -> None:
    faults = {
        f"made-{line['position']}": _("Write a number of pairs from 0 to %(most)d.")
        % {"most": line["pair_count"]}
        for line in plan["lines"]
        if not 0 <= counts[line["position"]] <= line["pair_count"]
    }
    if faults:
        raise ValidationError(faults)
    if not any(counts.values()):
        raise ValidationError(_("Not one pair was made: withdraw the job instead."), code="none")


def _shelved(
    commission: Commission,
    plan: Mapping[str, Any],
    line: Mapping[str, Any],
    count: int,
    *,
    by: AbstractBaseUser | None,
) -> list[FinishedPair]:
    if not count:
        return []
    currency = str(plan["currency"])
    costs: Sequence[Decimal] = [Decimal(pair["cost"]) for pair in line["pairs"]]
    if count < len(costs):
        costs = share_out(sum(costs, Decimal(0)), [1] * count, currency)
    record = StockLine.objects.get(pk=line["line"])
    article = Article.objects.filter(
        style__style=record.style.style_id, foot=record.foot_id, lot=record.lot_id, is_offered=True
    ).first()
    price = article.prices.first() if article is not None else None
    asked = price.price if price is not None and price.currency == currency else line["price"]
    return [
        pair_put(
            name=f"{line['style']['name']}, {line['size']}, {line['leather']}"[:160],
            commission=commission,
            article=article,
            style=line["style"]["name"][:120],
            made_on=timezone.localdate(),
            currency=currency,
            cost=cost,
            asked=Decimal(asked),
            by=by,
        )
        for cost in costs
    ]


@transaction.atomic
def run_withdraw(run: StockRun, *, by: AbstractBaseUser | None) -> None:
    """End a job without pairs; what was kept for it and is not cut is free again.

    Raises
    ------
    ValidationError
        It is over.
    """
    commission = Commission.objects.select_for_update().get(pk=run.pk)
    before = fields_of(commission)
    moved = Commission.objects.filter(pk=run.pk, state__in=(PLANNED, State.IN_WORK)).update(
        state=State.WITHDRAWN
    )
    commission.refresh_from_db()
    if not moved:
        raise ValidationError(
            _("%(job)s is %(state)s already.")
            % {"job": commission.code, "state": commission.get_state_display()}
        )
    audit_write(commission, by=by, action=State.WITHDRAWN, before=before)
    hides_release_all(commission, by=by)
    supplies_release(commission, by=by)
