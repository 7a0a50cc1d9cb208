"""From a foot to a quote. START READING HERE: `work_out` and `quote_make` are the whole road.

    foot -> last -> pieces -> layout -> bill of materials -> price -> documents

Each line of `work_out` is one stage. A stage that cannot be done leaves its reason in `faults` and
the stages after it empty, so that a page can show everything up to there.
"""

import datetime
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.bill import bill_of_materials, work_drivers
from costing.bill_line import BillLine, materials_from_bill
from costing.breakdown import Breakdown
from costing.errors import CostError
from costing.job import Job
from costing.money import round_half_up
from costing.price import price_for_profit, price_job, profit_at_price
from costing.terms import LeatherTerms, WasteShare
from patterns.drawing.drawing import Drawing
from patterns.errors import PatternError
from patterns.exchange.layout_file import (
    document_from_request,
    layout_from_document,
)
from patterns.foot import Foot
from patterns.layout import LAYOUT_ENGINE
from patterns.layout.from_pieces import request_from_pieces
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import PieceSet
from workshop import bridge
from workshop.bridge_sale import SaleChoice, job_from_rates, way_of
from workshop.core_words import said
from workshop.drafting import Asked, asked_of, drafted, takes_long
from workshop.models import (
    BackgroundJob,
    Commission,
    FootVersion,
    Hide,
    LeatherLot,
    Quote,
    RateCard,
    StyleVersion,
    Supply,
    WorkshopProfile,
)
from workshop.selectors.plans import fixed_by_hand
from workshop.services.quote_snapshot import drawings_of, snapshot_of
from workshop.services.records import audit_write, fields_of
from workshop.stand_ins import stand_in_for
from workshop.stock_priced import bill_at_stock_cost
from workshop.strict_json import write_json
from workshop.tokens import derived_token, token_hash
from workshop.work import LAYOUT_SEED, work_found, work_key, work_latest, work_start

WASTE_PLACES = 4  # a hundredth of a per cent
SPACING_MM = 1.5  # knife round a card; common practice, no source
SECONDS_TO_LAY_OUT = 8
FLAT_KINDS = (Supply.Kind.GLUE, Supply.Kind.BOX)  # a pair can be priced without them, but less well
LINK_PURPOSE = "quote"


@dataclass(frozen=True, slots=True)
class Choice:
    """What the maker chose: for which foot, which style, from which leather, how many pairs."""

    commission: Commission | None  # None: for nobody yet, so without a layout
    foot: FootVersion
    style: StyleVersion
    hide: Hide | None
    pair_count: int
    lot: LeatherLot | None = None  # leather not on the shelf, where no hide is chosen
    spacing_mm: float = SPACING_MM
    options: Mapping[str, str] = field(default_factory=dict)
    corrections: Mapping[str, float] = field(default_factory=dict)
    sale: SaleChoice = field(default_factory=SaleChoice)


@dataclass(slots=True)
class Worked:
    """Everything that follows from a choice, stage by stage, as far as it goes."""

    choice: Choice
    faults: dict[str, str] = field(default_factory=dict)
    fault_fields: dict[str, str] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    asked: Asked | None = None
    foot: Foot | None = None
    pieces: PieceSet | None = None
    worn: Drawing | None = None
    request: LayoutRequest | None = None
    layout_key: str = ""
    layout_work: BackgroundJob | None = None
    layout: Layout | None = None
    waste: dict[str, Any] | None = None
    bill: tuple[BillLine, ...] = ()
    left_out: tuple[str, ...] = ()
    job: Job | None = None
    breakdown: Breakdown | None = None
    rates: RateCard | None = None
    is_waiting: bool = False  # the pieces are still to be drawn, as `work_out` was told to leave
    estimate: Breakdown | None = None  # meanwhile: the price by the style's pieces for another foot

    @property
    def waste_per_pair_mm2(self) -> float | None:
        """Return the leather wasted for each pair laid out, or None before a layout."""
        if self.waste is None or not self.waste["pairs"]:
            return None
        wasted = self.waste["occupied_area_mm2"] - self.waste["used_area_mm2"]
        return float(wasted / self.waste["pairs"])

    @property
    def is_measured(self) -> bool:
        """Return whether the leather's waste comes from a layout that holds every pair."""
        return self.waste is not None and self.waste["pairs"] >= self.choice.pair_count


def work_out(choice: Choice, *, with_money: bool = True, at_once: bool = False) -> Worked:
    """Return all that follows from a choice; stores nothing but cached geometry.

    Parameters
    ----------
    choice : Choice
        What the maker chose.
    with_money : bool
        Leave False for a role that may see no money: the last two stages stay empty.
    at_once : bool
        Leave pieces that take long to a later call, and estimate the price meanwhile.
    """
    worked = Worked(choice)
    if not _stage(worked, "pieces", _ask):
        return worked
    if at_once and takes_long(worked.asked):
        worked.is_waiting = True
        worked.estimate = _estimated(worked) if with_money else None
        return worked
    if not _stage(worked, "pieces", _draft):
        return worked
    if choice.hide is None and choice.lot is None:
        worked.faults["leather"] = _("Choose a hide: none is on the shelf yet, or none is chosen.")
        return worked
    # Leather that is not on the shelf has no outline to lay pieces on: its waste is estimated.
    if choice.hide is not None and not _stage(worked, "leather", _find_layout):
        return worked
    if with_money and _stage(worked, "price", _make_bill):
        _stage(worked, "price", _make_price)
    return worked


def _stage(worked: Worked, name: str, do: Callable[[Worked], None]) -> bool:
    try:
        do(worked)
    except (PatternError, CostError) as error:
        worked.faults[name] = said(error.code, str(error))
        worked.fault_fields[name] = error.field
        return False
    return name not in worked.faults


def _ask(worked: Worked) -> None:
    """Read the foot and the style from their records."""
    choice = worked.choice
    worked.asked = asked_of(choice.foot, choice.style, choice.options, choice.corrections)
    worked.foot = worked.asked.foot


def _estimated(worked: Worked) -> Breakdown | None:
    """Return the price of pieces that stand in for those not drawn yet; None where it has none."""
    stand_in = stand_in_for(worked.asked)
    if stand_in is None or (worked.choice.hide is None and worked.choice.lot is None):
        return None
    values = {**stand_in.parameters, **worked.asked.values}
    guessed = replace(worked, pieces=stand_in, values=values, faults={}, fault_fields={})
    if _stage(guessed, "price", _make_bill):
        _stage(guessed, "price", _make_price)
    return guessed.breakdown


def _draft(worked: Worked) -> None:
    """Foot -> last -> pieces."""
    assert worked.asked is not None
    made = drafted(worked.asked)
    worked.pieces, worked.worn = made.pieces, made.worn
    worked.values = dict(worked.pieces.parameters)


def _find_layout(worked: Worked) -> None:
    """Pieces -> layout: the finished one if the worker has made it."""
    assert worked.pieces is not None
    assert worked.choice.hide is not None
    worked.request = request_from_pieces(
        worked.pieces,
        (bridge.hide_from_record(worked.choice.hide),),
        pair_count=worked.choice.pair_count,
        spacing_mm=worked.choice.spacing_mm,
    )
    # A job's own, since what was planned by hand for it must not turn up in another.
    inputs = {
        "engine": LAYOUT_ENGINE,
        "instance": document_from_request(worked.request),
        "job": worked.choice.commission.pk,
    }
    worked.layout_key = work_key("layout", inputs)
    worked.layout_work = work_latest("layout", worked.layout_key)
    done = work_found("layout", worked.layout_key)
    if done is not None:
        worked.layout = layout_from_document(done.result["layout"])
        worked.waste = done.result["waste"]


def _make_bill(worked: Worked) -> None:
    """Layout -> bill of materials."""
    assert worked.pieces is not None
    worked.rates = RateCard.objects.order_by("-version").first()
    if worked.rates is None:
        worked.faults["price"] = _("There is no rate card yet; make one under Rates.")
        return
    supplies = usual_supplies()
    worked.left_out = tuple(str(kind.label) for kind in FLAT_KINDS if kind not in supplies)
    terms = bridge.bill_terms(
        upper=_upper_leather(worked.choice),
        waste=_leather_waste(worked, worked.rates),
        supplies=supplies,
        rates=worked.rates,
        values=worked.values,
        is_glued=way_of(worked.values, worked.choice.sale) == "glue",
    )
    worked.bill = bill_at_stock_cost(
        bill_of_materials((worked.pieces,), terms), supplies, worked.choice.pair_count
    )


def _upper_leather(choice: Choice) -> LeatherTerms:
    """Return the leather at the cost of the very hide, or at an offer's price."""
    if choice.hide is not None:
        return bridge.leather_from_hide(choice.hide)
    assert choice.lot is not None
    return bridge.offer_of_lot(choice.lot).terms


def _make_price(worked: Worked) -> None:
    """Bill of materials -> price."""
    assert worked.pieces is not None
    assert worked.rates is not None
    worked.job = job_from_rates(
        rates=worked.rates,
        currency=WorkshopProfile.current().currency,
        pair_count=worked.choice.pair_count,
        materials=materials_from_bill(worked.bill),
        drivers=work_drivers((worked.pieces,)),
        way=way_of(worked.values, worked.choice.sale),
        sale=worked.choice.sale,
    )
    sale = worked.choice.sale
    if sale.price_wanted is not None:
        worked.breakdown = profit_at_price(worked.job, sale.price_wanted)
    elif sale.profit_wanted is not None:
        worked.breakdown = price_for_profit(worked.job, sale.profit_wanted)
    else:
        worked.breakdown = price_job(worked.job)


def _leather_waste(worked: Worked, rates: RateCard) -> WasteShare:
    """Return the waste measured on a layout that holds every pair, else the rate card's guess."""
    if worked.waste is not None and worked.is_measured:
        return WasteShare(
            round_half_up(Decimal(repr(worked.waste["waste_share"])), WASTE_PLACES), measured=True
        )
    return WasteShare(rates.leather_waste_pct / bridge.HUNDRED, measured=False)


def usual_supplies() -> dict[str, Supply]:
    """Return the supply to use for each kind: the usual one, else the newest."""
    chosen: dict[str, Supply] = {}
    for supply in Supply.objects.order_by("is_usual", "number"):
        chosen[supply.kind] = supply  # the last one wins: usual, then newest
    return chosen


def layout_start(
    worked: Worked, *, by: AbstractBaseUser, seconds: int = SECONDS_TO_LAY_OUT
) -> BackgroundJob:
    """Hand the layout of a choice to the background worker."""
    if worked.request is None:
        reason = "; ".join(worked.faults.values()) or _("Nothing can be laid out yet.")
        raise ValidationError(reason)
    # What a maker has fixed by hand stays where it lies.
    request = replace(
        worked.request, fixed=fixed_by_hand(worked.choice.commission, worked.layout_key)
    )
    inputs = {
        "instance": document_from_request(request),
        "seconds": seconds,
        "seed": LAYOUT_SEED,
        # What it is a layout of, so that later estimates can learn from it.
        "style": worked.choice.style.style.file_name,
        "foot_length_mm": float(worked.choice.foot.foot_length),
    }
    return work_start("layout", inputs, key=worked.layout_key, by=by)


@transaction.atomic
def quote_make(worked: Worked, *, by: AbstractBaseUser) -> Quote:
    """Freeze a choice and every figure behind it as a quote, with its link.

    Where the job's newest quote is open and the same in everything, it is returned and nothing is
    stored: a button pressed twice makes one quote.

    Raises
    ------
    ValidationError
        A stage could not be done, the pieces may not be cut, or the job is closed.
    """
    if worked.breakdown is None or worked.pieces is None:
        reason = "; ".join(worked.faults.values()) or _("There is no price yet.")
        raise ValidationError(reason)
    messages = worked.pieces.messages
    stops = [said(message.code, message.text) for message in messages if message.level == "stop"]
    if stops:
        raise ValidationError("; ".join(stops))
    choice = worked.choice
    # The job's row is locked, so that two people saving at once get two numbers.
    commission = Commission.objects.select_for_update().get(pk=choice.commission.pk)
    states = Commission.State
    if commission.state not in Commission.OPEN_TO_QUOTES:
        raise ValidationError(
            _("%(job)s is %(state)s; a new quote needs an open job.")
            % {"job": commission.code, "state": commission.get_state_display()}
        )
    # Written and read once, as what is stored was: a pair becomes a list.
    snapshot, drawings = json.loads(write_json([snapshot_of(worked), drawings_of(worked)]))
    same = _same_quote(commission, snapshot, drawings)
    if same is not None:
        return same
    profile = WorkshopProfile.current()
    last = commission.quotes.order_by("-version").values_list("version", flat=True).first()
    quote = Quote(
        commission=commission,
        version=(last or 0) + 1,
        foot=choice.foot,
        hide=choice.hide,
        snapshot=snapshot,
        drawings=drawings,
        price=worked.breakdown.price,
        currency=worked.breakdown.currency,
        pair_count=choice.pair_count,
        token_hash=token_hash(f"unsaved {commission.pk} {timezone.now().isoformat()}"),
        valid_until=timezone.localdate() + datetime.timedelta(days=profile.quote_valid_days),
        made_by=by,
    )
    quote.full_clean()
    quote.save()
    quote.token_hash = token_hash(link_token(quote))
    quote.save(update_fields=["token_hash"])
    audit_write(quote, by=by, action="quoted")
    if commission.state != states.QUOTED:
        before = fields_of(commission)
        commission.state = states.QUOTED
        commission.save(update_fields=["state"])
        audit_write(commission, by=by, action="quoted", before=before)
    return quote


def _same_quote(
    commission: Commission, snapshot: Mapping[str, Any], drawings: Mapping[str, Any]
) -> Quote | None:
    """Return the job's newest quote where it is open and keeps just these figures and outlines."""
    newest = commission.quotes.order_by("-version").first()
    if newest is None or newest.state != Quote.State.OPEN:
        return None
    if newest.valid_until < timezone.localdate():
        return None
    is_same = newest.snapshot == snapshot and newest.drawings == drawings
    return newest if is_same else None


def link_token(quote: Quote) -> str:
    """Return the token of a quote's present link."""
    return derived_token(LINK_PURPOSE, quote.pk, quote.link_serial)
