"""How much leather an order takes, which hides fit it, and how many pairs the stock still gives."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from costing.bill import net_area_mm2
from costing.leather import Purchase
from costing.money import to_minor_unit
from patterns.exchange.layout_file import document_from_request
from patterns.layout import LAYOUT_ENGINE
from patterns.layout.estimate import DEFAULT_SAMPLES, WasteSample, leather_estimate
from patterns.layout.from_pieces import request_from_pieces
from patterns.layout.values import HIDES_MAX, LayoutRequest
from workshop import bridge
from workshop.doors import MONEY
from workshop.models import BackgroundJob, Commission, Hide, LeatherLot, RateCard, WorkshopProfile
from workshop.models.jobs import LAYOUT
from workshop.services.quoting import Worked
from workshop.work import STOCK_PAIRS, work_key

LAYOUTS_LOOKED_AT = 200
HIDES_SHOWN = 200
MM2_PER_DM2 = Fraction(10_000)
OUTLINES = ("outline", "defects", "areas", "photograph")


@dataclass(frozen=True, slots=True)
class LeatherNeed:
    """Upper leather for one pair, with the waste that comes with it.

    The waste is learned from measured layouts, those of the same style and near size first;
    ``layouts`` of them are the workshop's own of this style. Four in five layouts lie between
    ``waste_least`` and ``waste_most``. ``rate_waste_share`` is what the rate card sets, by which
    a price goes until a layout is there.
    """

    net_mm2: float
    waste_share: float
    waste_least: float
    waste_most: float
    layouts: int
    rate_waste_share: float = 0.0

    @property
    def per_pair_mm2(self) -> float:
        """Return the leather one pair takes, waste included."""
        return self.net_mm2 / (1.0 - self.waste_share)

    @property
    def per_pair_least_mm2(self) -> float:
        """Return the leather one pair takes where little is wasted."""
        return self.net_mm2 / (1.0 - self.waste_least)

    @property
    def per_pair_most_mm2(self) -> float:
        """Return the leather one pair takes where much is wasted."""
        return self.net_mm2 / (1.0 - self.waste_most)

    def pairs_in(self, area_mm2: float) -> int:
        """Return how many pairs so much usable leather gives, by the estimate."""
        return int(area_mm2 / self.per_pair_mm2)


def leather_need(worked: Worked) -> LeatherNeed | None:
    """Return the leather a pair of these pieces takes, None before there are pieces."""
    if worked.pieces is None:
        return None
    net_mm2 = net_area_mm2((worked.pieces,), "upper")
    found = leather_estimate(
        net_mm2,
        style=worked.choice.style.style.file_name,
        foot_length_mm=float(worked.choice.foot.foot_length),
        samples=(*DEFAULT_SAMPLES, *_own_samples()),
    )
    rates = RateCard.objects.order_by("-version").first()
    return LeatherNeed(
        net_mm2,
        found.waste_share,
        1.0 - net_mm2 / found.low_mm2,
        1.0 - net_mm2 / found.high_mm2,
        found.own_samples,
        float(rates.leather_waste_pct / bridge.HUNDRED) if rates is not None else 0.0,
    )


def _own_samples() -> list[WasteSample]:
    """Return the newest layouts of the workshop that hold a whole pair, as measured waste.

    One that was made again, or a plan saved again, counts once.
    """
    rows = (
        BackgroundJob.objects.filter(
            kind=LAYOUT, state=BackgroundJob.State.DONE, inputs__foot_length_mm__gt=0
        )
        .order_by("-id")
        .values_list("key", "inputs__style", "inputs__foot_length_mm", "result__waste")
    )
    newest: dict[str, tuple[str, float, dict[str, Any]]] = {}
    for key, *row in rows[:LAYOUTS_LOOKED_AT]:
        newest.setdefault(key, tuple(row))
    return [
        WasteSample(
            style,
            float(foot_length_mm),
            int(waste["pairs"]),
            float(waste["used_area_mm2"]),
            float(waste["occupied_area_mm2"]),
        )
        for style, foot_length_mm, waste in newest.values()
        if waste["pairs"] and 0 < waste["used_area_mm2"] <= waste["occupied_area_mm2"]
    ]


@dataclass(frozen=True, slots=True)
class LeatherWanted:
    """What a maker asks of the leather: its colour, and how thick it may be."""

    colour: str = ""
    thinnest_mm: Decimal | None = None
    thickest_mm: Decimal | None = None

    def lots(self) -> Q:
        """Return the condition on lots."""
        return Q(lot__colour__iexact=self.colour) if self.colour else Q()

    def suits(self, hide: Hide) -> bool:
        """Return whether a hide is as thick as asked, at every place it was measured."""
        places = [Decimal(place["thickness_mm"]) for place in hide.thickness_places]
        measured = [hide.thickness_mm, *places]
        return (self.thinnest_mm is None or min(measured) >= self.thinnest_mm) and (
            self.thickest_mm is None or max(measured) <= self.thickest_mm
        )


@dataclass(frozen=True, slots=True)
class HideFit:
    """A hide beside what the order takes of it; money only where it is seen."""

    hide: Hide
    pairs: int
    pairs_laid: int | None
    fits: bool
    taken_by: str
    cost: Decimal | None

    @property
    def thickness_range(self) -> tuple[Decimal, Decimal]:
        """Return the thinnest and the thickest it was measured."""
        places = [Decimal(place["thickness_mm"]) for place in self.hide.thickness_places]
        measured = [self.hide.thickness_mm, *places]
        return min(measured), max(measured)


@dataclass(frozen=True, slots=True)
class OfferFit:
    """Leather that would have to be bought for the order."""

    lot: LeatherLot
    purchase: Purchase | None
    whole: Purchase | None


@dataclass(frozen=True, slots=True)
class LeatherFits:
    """All leather beside an order: hides by cost, offers, and the pairs the stock still gives."""

    hides: list[HideFit]
    offers: list[OfferFit]
    pairs_left: int
    pairs_laid: int | None
    colours: list[str]

    @property
    def none_is_enough(self) -> bool:
        """Return whether no single free hide gives all pairs of the order."""
        return not any(fit.fits and not fit.taken_by for fit in self.hides)


def hides_in_stock(wanted: LeatherWanted) -> list[Hide]:
    """Return the hides that are not cut, of that colour and thickness; reserved ones among them."""
    hides = (
        Hide.objects.filter(wanted.lots(), state__in=[Hide.State.ON_SHELF, Hide.State.RESERVED])
        .select_related("lot", "reserved_for")
        .defer(*OUTLINES)
        .order_by("-number")
    )
    return [hide for hide in hides[:HIDES_SHOWN] if wanted.suits(hide)]


def leather_fits(
    need: LeatherNeed,
    wanted: LeatherWanted,
    *,
    pair_count: int,
    commission: Commission,
    role: str,
    laid: dict[str, int] | None = None,
) -> LeatherFits:
    """Return the leather for an order, the cheapest that is large enough first.

    Remnants come first where the cost is the same to the minor unit; then what is too small, and
    last what another order has.

    Parameters
    ----------
    need : LeatherNeed
        Of one pair.
    wanted : LeatherWanted
    pair_count : int
    commission : Commission
        The order; a hide reserved for it counts as free.
    role : str
        Who asks; whoever may see no money is given none.
    laid : mapping, optional
        Pairs counted by laying out, by the hide's code.
    """
    currency = WorkshopProfile.current().currency
    need_mm2 = Fraction(need.per_pair_mm2) * pair_count
    ranked = []
    for hide in hides_in_stock(wanted):
        cost = to_minor_unit(Fraction(hide.cost) / Fraction(hide.area_mm2) * need_mm2, currency)
        counted = (laid or {}).get(hide.code)
        pairs = need.pairs_in(float(hide.area_mm2)) if counted is None else counted
        fit = HideFit(
            hide=hide,
            pairs=pairs,
            pairs_laid=counted,
            fits=pairs >= pair_count,
            taken_by=_taken_by(hide, commission),
            cost=cost if role in MONEY else None,
        )
        order = (bool(fit.taken_by), not fit.fits, cost, hide.remnant_of_id is None, hide.number)
        ranked.append((order, fit))
    fits = [fit for _order, fit in sorted(ranked, key=lambda pair: pair[0])]
    free = [fit for fit in fits if not fit.taken_by]
    is_counted = bool(free) and all(fit.pairs_laid is not None for fit in free)
    return LeatherFits(
        hides=fits,
        offers=_offers(wanted, need_mm2, role),
        pairs_left=sum(need.pairs_in(float(fit.hide.area_mm2)) for fit in free),
        pairs_laid=sum(fit.pairs_laid or 0 for fit in free) if is_counted else None,
        colours=list(
            LeatherLot.objects.order_by("colour").values_list("colour", flat=True).distinct()
        ),
    )


def _taken_by(hide: Hide, commission: Commission) -> str:
    if hide.state != Hide.State.RESERVED or hide.reserved_for_id == commission.pk:
        return ""
    return hide.reserved_for.code if hide.reserved_for is not None else _("somebody")


def _offers(wanted: LeatherWanted, need_mm2: Fraction, role: str) -> list[OfferFit]:
    lots = LeatherLot.objects.filter(bought_on=None)
    if wanted.colour:
        lots = lots.filter(colour__iexact=wanted.colour)
    rows = []
    for lot in lots.order_by("-number")[:HIDES_SHOWN]:
        too_thin = wanted.thinnest_mm is not None and lot.thickness_mm < wanted.thinnest_mm
        too_thick = wanted.thickest_mm is not None and lot.thickness_mm > wanted.thickest_mm
        if too_thin or too_thick:
            continue
        offer = bridge.offer_of_lot(lot)
        sees = role in MONEY
        need_dm2 = need_mm2 / MM2_PER_DM2
        rows.append(
            OfferFit(
                lot,
                offer.purchase(need_dm2) if sees else None,
                offer.whole_hides(need_dm2) if sees else None,
            )
        )
    return sorted(rows, key=lambda row: row.purchase.used_cost if row.purchase else 0)


def purchase_of(worked: Worked, need: LeatherNeed) -> OfferFit | None:
    """Return what has to be bought for a choice of leather that is not on the shelf."""
    lot = worked.choice.lot
    if worked.choice.hide is not None or lot is None:
        return None
    offer = bridge.offer_of_lot(lot)
    need_dm2 = Fraction(need.per_pair_mm2) * worked.choice.pair_count / MM2_PER_DM2
    return OfferFit(lot, offer.purchase(need_dm2), offer.whole_hides(need_dm2))


def count_request(worked: Worked, hides: Sequence[Hide]) -> LayoutRequest:
    """Return the request that counts how many pairs each of these hides gives.

    Raises
    ------
    LayoutError
        The pieces cannot be laid out.
    """
    assert worked.pieces is not None
    chosen = Hide.objects.filter(pk__in=[hide.pk for hide in hides[:HIDES_MAX]]).select_related(
        "lot"
    )
    return request_from_pieces(
        worked.pieces,
        [bridge.hide_from_record(hide) for hide in chosen.order_by("number")],
        pair_count=1,
        spacing_mm=worked.choice.spacing_mm,
    )


def count_key(request: LayoutRequest) -> str:
    """Return the key of the work that counts pairs."""
    return work_key(
        STOCK_PAIRS, {"engine": LAYOUT_ENGINE, "instance": document_from_request(request)}
    )
