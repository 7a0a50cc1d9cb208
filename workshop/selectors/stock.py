"""Leather and supplies as the pages show them; whoever may see no money is given none."""

import re
from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count, Exists, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from costing.errors import CostError
from costing.money import round_half_up
from costing.terms import cost_per_dm2
from workshop.bridge import area_value, offer_of_lot
from workshop.doors import MONEY
from workshop.hide_sheet import small_drawings
from workshop.models import (
    Commission,
    Cutting,
    Hide,
    LeatherLot,
    Quote,
    StockBalance,
    StockMove,
    Supply,
)
from workshop.models.stock import THOUSANDTHS
from workshop.paging import ListPage, list_page

HIDES_SHOWN = 12  # on the list of lots; the lot's own page shows all
QUOTES_SHOWN = 50
UNIT_COST_DIGITS = 4
CODE = re.compile(r"([LHB])-?0*(\d{1,9})", re.ASCII | re.IGNORECASE)
OUTLINES = ("outline", "defects", "areas", "photograph", "thickness_places")


@dataclass(frozen=True, slots=True)
class HideRow:
    """A hide in a list."""

    id: int
    code: str
    area_mm2: Decimal
    thickness_mm: Decimal
    state: str
    state_words: str
    is_remnant: bool
    cost: Decimal | None
    drawing: str = ""


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot in a list, with some of its hides; price and supplier only where money is seen."""

    id: int
    number: int
    code: str
    name: str
    colour: str
    thickness_mm: Decimal
    bought_on: object
    colour_may_rub: bool
    note: str
    tannage: str
    finish: str
    smallest_sold_dm2: Decimal | None
    whole_hide_dm2: Decimal | None
    supplier: str
    price: Decimal | None
    price_words: str
    cost_per_dm2: Decimal | None
    hide_count: int
    hides: list[HideRow] = field(default_factory=list)

    @property
    def more_hides(self) -> int:
        """Return how many hides are not shown here."""
        return self.hide_count - len(self.hides)


def _hide_row(hide: Hide, role: str, drawing: str = "") -> HideRow:
    return HideRow(
        id=hide.pk,
        code=hide.code,
        area_mm2=hide.area_mm2,
        thickness_mm=hide.thickness_mm,
        state=hide.state,
        state_words=hide.get_state_display(),
        is_remnant=hide.remnant_of_id is not None,
        cost=hide.cost if role in MONEY else None,
        drawing=drawing,
    )


def _lot_row(lot: LeatherLot, role: str, hides: list[Hide], hide_count: int) -> LotRow:
    sees_money = role in MONEY
    return LotRow(
        id=lot.pk,
        number=lot.number,
        code=lot.code,
        name=lot.name,
        colour=lot.colour,
        thickness_mm=lot.thickness_mm,
        bought_on=lot.bought_on,
        colour_may_rub=lot.colour_may_rub,
        note=lot.note,
        tannage=str(lot.get_tannage_display()),
        finish=str(lot.get_finish_display()),
        smallest_sold_dm2=lot.smallest_sold_dm2,
        whole_hide_dm2=lot.whole_hide_dm2,
        supplier=lot.supplier if sees_money else "",
        price=lot.price if sees_money else None,
        price_words=str(lot.get_price_unit_display()) if sees_money else "",
        cost_per_dm2=_cost_per_dm2(lot) if sees_money else None,
        hide_count=hide_count,
        hides=[_hide_row(hide, role) for hide in hides],
    )


def _cost_per_dm2(lot: LeatherLot) -> Decimal | None:
    """Return what a dm² costs at the seller's price; None where a hide's size is not known."""
    try:
        return offer_of_lot(lot).terms.cost_per_dm2
    except CostError:
        return None


def _code_numbers(text: str) -> tuple[str, int] | None:
    found = CODE.fullmatch(text.strip())
    return (found[1].upper(), int(found[2])) if found else None


def lots_found(text: str, state: str, *, hides_most: int | None = None) -> QuerySet[LeatherLot]:
    """Return the lots with their hides, for `lot_row`.

    Parameters
    ----------
    text : str
        A part of a name or colour, or a code such as L-0004 or H-0012; empty for all.
    state : str
        A state of hides; lots without such a hide are left out. Anything else: all.
    hides_most : int
        How many hides come with each lot; None for all.
    """
    lots = LeatherLot.objects.all()
    wanted = Q()
    code = _code_numbers(text)
    if state in Hide.State.values:
        wanted &= Q(state=state)
    if code is not None and code[0] == "H":
        wanted &= Q(number=code[1])
    elif code is not None and code[0] == "L":
        lots = lots.filter(number=code[1])
    elif text.strip():
        words = text.strip()[:80]
        lots = lots.filter(Q(name__icontains=words) | Q(colour__icontains=words))
    if wanted:
        lots = lots.filter(Exists(Hide.objects.filter(wanted, lot=OuterRef("pk"))))
    hides = Hide.objects.filter(wanted).defer(*OUTLINES).order_by("-number")
    return lots.annotate(hide_count=_count_of(Hide.objects.filter(wanted))).prefetch_related(
        Prefetch("hides", hides[:hides_most], to_attr="hides_shown")
    )


def lot_row(lot: LeatherLot, role: str) -> LotRow:
    """Return one of the lots found, with its hides."""
    return _lot_row(lot, role, lot.hides_shown, lot.hide_count)


def _count_of(hides: QuerySet[Hide]) -> Coalesce:
    """Return how many of the hides a lot has, counted only for the lots that are shown."""
    of_lot = hides.filter(lot=OuterRef("pk")).order_by().values("lot")
    return Coalesce(Subquery(of_lot.annotate(count=Count("pk")).values("count")), 0)


def lot_shown(lot: LeatherLot, role: str, *, before: str) -> tuple[LotRow, ListPage]:
    """Return a lot and a page of its hides, each with a small drawing."""
    page = list_page(lot.hides.defer("areas"), before)
    drawings = small_drawings(page.rows)
    rows = [_hide_row(hide, role, drawings[hide.pk]) for hide in page.rows]
    return _lot_row(lot, role, [], lot.hides.count()), ListPage(rows, page.next_before)


@dataclass(frozen=True, slots=True)
class AreaRow:
    """A part of a hide by grade, in words."""

    name: str
    grade: int
    worth_percent: Decimal


@dataclass(frozen=True, slots=True)
class HideShown:
    """A hide on its own page."""

    row: HideRow
    lot: LotRow
    tight_way_deg: Decimal
    note: str
    remnant_of: HideRow | None
    remnants: list[HideRow]
    quotes: list[Quote]
    cuttings: list[Cutting]
    reserved_for: Commission | None
    photograph: str
    kinds: list[tuple[str, int]]
    areas: list[AreaRow]
    thinnest_mm: Decimal
    thickest_mm: Decimal
    places: int
    cost_per_dm2: Decimal | None


def hide_shown(hide: Hide, role: str) -> HideShown:
    """Return a hide with its lot, what it was cut from, what was cut from it, and its quotes."""
    remnants = Hide.objects.filter(remnant_of=hide).defer(*OUTLINES)
    places = [Decimal(place["thickness_mm"]) for place in hide.thickness_places]
    measured = [hide.thickness_mm, *places]
    return HideShown(
        row=_hide_row(hide, role),
        lot=_lot_row(hide.lot, role, [], 0),
        tight_way_deg=hide.tight_way_deg,
        note=hide.note,
        remnant_of=_hide_row(hide.remnant_of, role) if hide.remnant_of else None,
        remnants=[_hide_row(row, role) for row in remnants.order_by("-number")[:HIDES_SHOWN]],
        quotes=list(
            hide.quotes.select_related("commission__doll")
            .only("version", "state", "hide", "commission__number", "commission__doll__name")
            .order_by("-id")[:QUOTES_SHOWN]
        ),
        cuttings=list(hide.cuttings.defer("instance", "layout")[:HIDES_SHOWN]),
        reserved_for=hide.reserved_for,
        photograph=hide.photograph.get("sha256", ""),
        kinds=_kinds(hide),
        areas=[_area_row(row) for row in hide.areas],
        thinnest_mm=min(measured),
        thickest_mm=max(measured),
        places=len(hide.thickness_places),
        cost_per_dm2=cost_per_dm2(hide.cost, float(hide.area_mm2)) if role in MONEY else None,
    )


def _kinds(hide: Hide) -> list[tuple[str, int]]:
    """Return how many defects of which kind a hide has, most first."""
    words = dict(Hide.DefectKind.choices)
    counts = Counter(str(words.get(row["kind"], row["kind"])) for row in hide.defects)
    return counts.most_common()


def _area_row(row: dict[str, Any]) -> AreaRow:
    value = area_value(row)
    worth = round_half_up(Decimal(repr(value.worth)) * 100, 1)
    return AreaRow(value.name, value.grade, worth)


@dataclass(frozen=True, slots=True)
class SupplyRow:
    """A supply with its balance, in units; prices only where money is seen."""

    id: int
    number: int
    code: str
    name: str
    kind: str
    kind_words: str
    unit: str
    unit_words: str
    on_hand: Decimal
    reserved: Decimal
    free: Decimal
    reorder_point: Decimal
    pack_quantity: Decimal
    is_usual: bool
    note: str
    supplier: str
    pack_price: Decimal | None
    unit_cost: Decimal | None

    @property
    def is_low(self) -> bool:
        """Return whether it is time to buy again."""
        return self.free < self.reorder_point


def supply_row(supply: Supply, role: str) -> SupplyRow:
    """Return a supply as its page shows it."""
    balance = getattr(supply, "balance", None) or StockBalance(supply=supply)
    sees_money = role in MONEY
    exact = Fraction(supply.pack_price) / Fraction(supply.pack_quantity)
    return SupplyRow(
        id=supply.pk,
        number=supply.number,
        code=supply.code,
        name=supply.name,
        kind=supply.kind,
        kind_words=str(supply.get_kind_display()),
        unit=supply.unit,
        unit_words=str(supply.get_unit_display()),
        on_hand=_units(balance.on_hand),
        reserved=_units(balance.reserved),
        free=_units(balance.free),
        reorder_point=supply.reorder_point,
        pack_quantity=supply.pack_quantity,
        is_usual=supply.is_usual,
        note=supply.note,
        supplier=supply.supplier if sees_money else "",
        pack_price=supply.pack_price if sees_money else None,
        unit_cost=round_half_up(exact, UNIT_COST_DIGITS) if sees_money else None,
    )


def _units(thousandths: int) -> Decimal:
    return Decimal(thousandths) / THOUSANDTHS


def supplies_found(text: str, kind: str) -> QuerySet[Supply]:
    """Return the supplies of a kind whose name or code holds the text, for `supply_row`."""
    supplies = Supply.objects.select_related("balance")
    if kind in Supply.Kind.values:
        supplies = supplies.filter(kind=kind)
    code = _code_numbers(text)
    if code is not None and code[0] == "B":
        supplies = supplies.filter(number=code[1])
    elif text.strip():
        supplies = supplies.filter(name__icontains=text.strip()[:80])
    return supplies


def moves_found(supply: Supply, kind: str) -> QuerySet[StockMove]:
    """Return a supply's ledger, its lines of one kind where that is named."""
    moves = supply.moves.select_related("made_by")
    return moves.filter(kind=kind) if kind in StockMove.Kind.values else moves


@dataclass(frozen=True, slots=True)
class BalanceFault:
    """A supply whose balance is not what its ledger adds up to, in thousandths."""

    supply: Supply
    on_hand: int | None
    reserved: int | None
    moved: int
    moved_reserved: int


def balance_faults() -> list[BalanceFault]:
    """Return every supply whose balance differs from the sum of its moves.

    Balances and sums come from one query, so that work going on meanwhile raises no alarm.
    """
    supplies: QuerySet[Supply] = (
        Supply.objects.select_related("balance")
        .annotate(
            moved=Coalesce(Sum("moves__on_hand_change"), 0),
            moved_reserved=Coalesce(Sum("moves__reserved_change"), 0),
        )
        .order_by("number")
    )
    faults = []
    for supply in supplies:
        balance = getattr(supply, "balance", None)
        on_hand = balance.on_hand if balance else None
        reserved = balance.reserved if balance else None
        if (on_hand or 0, reserved or 0) != (supply.moved, supply.moved_reserved):
            faults.append(
                BalanceFault(supply, on_hand, reserved, supply.moved, supply.moved_reserved)
            )
    return faults


def moves_count() -> int:
    """Return how many lines the ledger has."""
    return StockMove.objects.count()
