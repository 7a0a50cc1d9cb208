"""The columns of the lists: what each is sorted by, and what its file holds."""

from decimal import Decimal
from typing import Any

from django.db.models import FloatField, OuterRef, Subquery
from django.db.models.functions import Cast
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from costing.money import round_half_up, to_minor_unit
from workshop.bridge import as_written
from workshop.listing import Column, by_words, folded
from workshop.models import Commission, Doll, FinishedPair, FootVersion, Quote, StockMove, Supply
from workshop.models.stock import THOUSANDTHS

MM2_IN_DM2 = 10_000


def newest_length() -> Subquery:
    """Return the length of a doll's newest foot, as a part of a query for dolls."""
    newest = FootVersion.objects.filter(doll=OuterRef("pk")).order_by("-id")
    return Subquery(newest.values("foot_length")[:1])


CUSTOMERS = (
    Column("name", _("Name"), folded("name"), cell=lambda row: row.name),
    Column("code", _("Code"), "number", cell=lambda row: row.code),
    Column("email", _("E-mail"), folded("email"), cell=lambda row: row.email),
    Column("phone", cell=lambda row: row.phone),
    Column("country", _("Country"), folded("country"), cell=lambda row: row.country),
    Column("since", cell=lambda row: timezone.localdate(row.made_at)),
)
DOLLS = (
    Column("name", _("Name"), folded("name"), cell=lambda row: row.name),
    Column("code", _("Code"), "number", cell=lambda row: row.code),
    Column(
        "customer",
        _("Customer"),
        folded("customer__name"),
        cell=lambda row: row.customer_name,
        may_be_empty=True,
    ),
    Column(
        "material",
        _("Made of"),
        lambda: by_words("material", Doll.Material.choices),
        cell=lambda row: row.material,
    ),
    Column(
        "feet",
        _("Feet"),
        lambda: by_words("feet_kind", Doll.FeetKind.choices),
        cell=lambda row: row.feet_kind,
    ),
    Column(
        "length_mm",
        _("Foot length"),
        newest_length,
        cell=lambda row: Decimal(row.foot_length) if row.foot_length else None,
        css="num",
        may_be_empty=True,
    ),
)


def _last_price() -> Subquery:
    quotes = Quote.objects.filter(commission=OuterRef("pk")).order_by("-version")
    return Subquery(quotes.values("price")[:1])


def _last_quote(job: Commission) -> str:
    quotes = list(job.quotes.all())
    return quotes[0].shown_price if quotes else ""


JOBS = (
    Column("job", _("Job"), "number", cell=lambda row: row.code),
    Column(
        "doll", _("Doll"), folded("doll__name"), cell=lambda row: row.made_for, may_be_empty=True
    ),
    Column(
        "customer",
        _("Customer"),
        folded("customer__name"),
        cell=lambda row: row.customer.name if row.customer else "",
        may_be_empty=True,
    ),
    Column(
        "state",
        _("State"),
        # As far as it is, not as its words are spelled.
        lambda: by_words("state", zip(Commission.State.values, "0123456789", strict=False)),
        cell=lambda row: row.get_state_display(),
    ),
    Column("ended_because", cell=lambda row: row.end_reason),
    Column(
        "wanted_on", _("Wanted on"), "wanted_on", cell=lambda row: row.wanted_on, may_be_empty=True
    ),
    Column("taken_in_on", cell=lambda row: timezone.localdate(row.made_at)),
    Column(
        "last_quote",
        _("Last quote"),
        _last_price,
        cell=_last_quote,
        css="num",
        may_be_empty=True,
        is_money=True,
    ),
)
SUPPLIES = (
    Column("name", _("Supply"), folded("name"), cell=lambda row: row.name),
    Column("code", cell=lambda row: row.code),
    Column(
        "kind",
        _("Used as"),
        lambda: by_words("kind", Supply.Kind.choices),
        cell=lambda row: row.kind_words,
        css="wide-only",
    ),
    Column("unit", cell=lambda row: row.unit),
    Column(
        "on_hand",
        _("On hand"),
        "balance__on_hand",
        cell=lambda row: row.on_hand,
        css="num wide-only",
        may_be_empty=True,
    ),
    Column("reserved", cell=lambda row: row.reserved),
    Column(
        "free",
        _("Free"),
        "balance__free",
        cell=lambda row: row.free,
        css="num",
        may_be_empty=True,
    ),
    Column("buy_again_below", cell=lambda row: row.reorder_point),
    Column(
        "each",
        _("Each"),
        # As floating-point numbers: SQLite keeps a price of 8.00 as 8, and 8 / 3 would be 2.
        Cast("pack_price", FloatField()) / Cast("pack_quantity", FloatField()),
        cell=lambda row: row.unit_cost,
        css="num wide-only",
        is_money=True,
        names_currency=True,
    ),
    Column("supplier", cell=lambda row: row.supplier, is_money=True),
)


def _units(thousandths: int) -> Decimal:
    return Decimal(thousandths) / THOUSANDTHS


MOVES = (
    Column("when", _("When"), "id", cell=lambda row: row.made_at),
    Column(
        "what",
        _("What"),
        lambda: by_words("kind", StockMove.Kind.choices),
        cell=lambda row: row.get_kind_display(),
    ),
    Column(
        "on_hand",
        _("On hand"),
        "on_hand_change",
        cell=lambda row: _units(row.on_hand_change),
        css="num",
    ),
    Column(
        "reserved",
        _("Reserved"),
        "reserved_change",
        cell=lambda row: _units(row.reserved_change),
        css="num",
    ),
    Column("cost", cell=lambda row: row.cost, is_money=True),
    Column("why", _("Why"), folded("reason"), cell=lambda row: row.reason, css="after-num"),
    Column(
        "who",
        _("Who"),
        folded("made_by__username"),
        cell=lambda row: row.made_by.get_username() if row.made_by else "",
        may_be_empty=True,
    ),
)
# On the page a lot is a card with its hides; the file has a row a hide: (lot, hide or None).
LEATHER = (
    Column("lot", _("Code"), "number", cell=lambda row: row[0].code),
    Column("name", _("Name"), folded("name"), cell=lambda row: row[0].name),
    Column("colour", _("Colour"), folded("colour"), cell=lambda row: row[0].colour),
    Column(
        "thickness_mm",
        _("Thickness"),
        "thickness_mm",
        cell=lambda row: (row[1] or row[0]).thickness_mm,
    ),
    Column(
        "bought_on",
        _("Bought on"),
        "bought_on",
        cell=lambda row: row[0].bought_on,
        may_be_empty=True,
    ),
    Column("hide", cell=lambda row: row[1].code if row[1] else ""),
    Column("state", cell=lambda row: row[1].state_words if row[1] else ""),
    Column(
        "area_dm2",
        cell=lambda row: round_half_up(row[1].area_mm2 / MM2_IN_DM2, 2) if row[1] else None,
    ),
    Column("remnant", cell=lambda row: row[1].is_remnant if row[1] else None),
    Column("supplier", cell=lambda row: row[0].supplier, is_money=True),
    Column("price", cell=lambda row: row[0].price, is_money=True),
    Column("price_is", cell=lambda row: row[0].price_words, is_money=True),
    Column("cost", cell=lambda row: row[1].cost if row[1] else None, is_money=True),
)
PAIRS = (
    Column("pair", cell=lambda row: row.code),
    Column("name", _("Pair"), folded("name"), cell=lambda row: row.name),
    Column(
        "state",
        _("Where"),
        lambda: by_words("state", FinishedPair.State.choices),
        cell=lambda row: row.state,
    ),
    Column("where", cell=lambda row: row.where),
    Column("made_on", cell=lambda row: row.made_on),
    Column("currency", cell=lambda row: row.currency, is_money=True),
    Column("cost", _("Cost"), "cost", cell=lambda row: row.cost, css="num", is_money=True),
    Column("asked", _("Asked"), "asked", cell=lambda row: row.asked, css="num", is_money=True),
    Column("sold_on", cell=lambda row: row.sold_on),
    Column(
        "paid",
        _("Paid"),
        "sold_price",
        cell=lambda row: row.sold_price,
        css="num",
        may_be_empty=True,
        is_money=True,
    ),
    Column("tax", cell=lambda row: row.sold_tax, is_money=True),
    Column("fee", cell=lambda row: row.sold_fee, is_money=True),
    Column("fees_lost", cell=lambda row: row.lost_fees, is_money=True),
    Column("earned", _("Earned"), cell=lambda row: row.earned, css="num", is_money=True),
)


def _amount(of: str, name: str) -> Any:
    """Return what reads an amount of an article's row: of the price asked, or of today's."""

    def read(row: Any) -> Decimal | None:
        figures = getattr(row, of)
        value = getattr(figures, name) if figures else None
        return None if value is None else to_minor_unit(value, figures.currency)

    return read


def _figure(key: str, words: Any, of: str, name: str) -> Column:
    read = _amount(of, name)
    return Column(key, words, value=read, cell=read, css="num")


ARTICLES = (
    Column("article", _("Article"), value=lambda row: row.article.number,
           cell=lambda row: row.article.code),
    Column("what", cell=lambda row: row.article.get_kind_display()),
    Column("style", cell=lambda row: row.article.style.style.name),
    Column("size", cell=lambda row: row.article.foot.doll.name if row.article.foot else ""),
    Column(
        "foot_length_mm",
        cell=lambda row: as_written(row.article.foot.foot_length) if row.article.foot else None,
    ),
    Column("leather", cell=lambda row: row.article.lot.name if row.article.lot else ""),
    Column("colour", cell=lambda row: row.article.lot.colour if row.article.lot else ""),
    Column("place", cell=lambda row: row.article.place.name if row.article.place else ""),
    Column(
        "currency",
        cell=lambda row: (row.today or row.asked).currency if row.today or row.asked else "",
    ),
    _figure("price_asked", _("Asked"), "asked", "price"),
    Column(
        "asked_since", cell=lambda row: timezone.localdate(row.asked.made_at) if row.asked else None
    ),
    _figure("cost_then", _("Cost then"), "asked", "cost"),
    _figure("cost_today", _("Cost today"), "today", "cost"),
    _figure("profit_kept", _("Leaves today"), "today", "kept_profit"),
    Column("profit_kept_pct", cell=lambda row: row.today.kept_pct if row.today else None),
    _figure("price_today", _("Price today"), "today", "price"),
    Column("below_floor", cell=lambda row: row.is_below_floor),
    Column("fault", cell=lambda row: row.fault),
)  # fmt: skip
