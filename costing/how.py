"""How an amount came about, said in one sentence that a maker can follow."""

from collections.abc import Mapping
from dataclasses import dataclass


def _(sentence: str) -> str:
    """Return a sentence as it is; tables of other languages gather what stands in such a call."""
    return sentence


# Each sentence is a fixed text with named places, so that pages can translate it by its code.
SENTENCES: dict[str, str] = {
    "material": _(
        "%(quantity)s %(unit)s x %(pairs)s %(pair_word)s / (1 - %(waste)s %%) = %(taken)s %(unit)s"
        " at %(unit_cost)s = %(amount)s"
    ),
    "material_no_waste": _(
        "%(quantity)s %(unit)s x %(pairs)s %(pair_word)s = %(taken)s %(unit)s"
        " at %(unit_cost)s = %(amount)s"
    ),
    "labour_pair": _(
        "%(minutes)s min x %(pairs)s %(pair_word)s = %(total)s min at %(rate)s an hour = %(amount)s"
    ),
    "labour_order": _("%(minutes)s min for the order at %(rate)s an hour = %(amount)s"),
    "labour_pair_again": _(
        "%(minutes)s min for the first of %(pairs)s pairs, each further one alike %(less)s %% less"
        " = %(total)s min at %(rate)s an hour = %(amount)s"
    ),
    "labour_batch": _(
        "%(minutes)s min for a batch of %(batch)s, of which %(pairs)s %(pair_word)s = %(total)s min"
        " at %(rate)s an hour = %(amount)s"
    ),
    "postage_paid": _("for the order = %(amount)s"),
    "overhead": _(
        "%(minutes)s min of hands-on work at %(rate)s an hour + %(percent)s %% of material and"
        " labour (%(direct)s) = %(amount)s"
    ),
    "cost": _("the sum of the lines above = %(amount)s"),
    "cost_per_pair": _("%(cost)s / %(pairs)s = %(amount)s"),
    "price_from_price_profit": _(
        "cost and fixed fee %(cost_and_fee)s / (1 - fees %(fee_share)s %% - profit %(profit)s %% of"
        " the price) = %(net)s without tax; %(asked)s a pair, up to the next %(step)s = %(amount)s"
    ),
    "price_from_cost_profit": _(
        "(cost %(cost)s + profit %(profit)s %% on cost + fixed fee %(fixed)s) / (1 - fees"
        " %(fee_share)s %%) = %(net)s without tax; %(asked)s a pair, up to the next %(step)s"
        " = %(amount)s"
    ),
    "price_typed": _("the price a pair as typed = %(amount)s"),
    "price_from_price_profit_least": _(
        "cost and fixed fee %(cost_and_fee)s / (1 - fees %(fee_share)s %% - profit %(profit)s %% of"
        " the price) = %(net)s without tax; %(asked)s a pair, but no less than %(least)s"
        " = %(amount)s"
    ),
    "price_from_cost_profit_least": _(
        "(cost %(cost)s + profit %(profit)s %% on cost + fixed fee %(fixed)s) / (1 - fees"
        " %(fee_share)s %%) = %(net)s without tax; %(asked)s a pair, but no less than %(least)s"
        " = %(amount)s"
    ),
    "price_from_price_profit_rounded": _(
        "cost and fixed fee %(cost_and_fee)s / (1 - fees %(fee_share)s %% - profit %(profit)s %% of"
        " the price) = %(net)s without tax; %(asked)s a pair, rounded to a step of %(step)s with"
        " the ending %(ending)s = %(amount)s"
    ),
    "price_from_cost_profit_rounded": _(
        "(cost %(cost)s + profit %(profit)s %% on cost + fixed fee %(fixed)s) / (1 - fees"
        " %(fee_share)s %%) = %(net)s without tax; %(asked)s a pair, rounded to a step of %(step)s"
        " with the ending %(ending)s = %(amount)s"
    ),
    "price_for_profit": _(
        "the least price a pair that earns %(profit)s in all, rounded to a step of %(step)s"
        " = %(amount)s"
    ),
    "rush": _("%(percent)s %% of %(said)s + %(fixed)s = %(amount)s"),
    "postage": _("postage and packing as charged = %(amount)s"),
    "price_extras_included": _(
        "%(per_pair)s x %(pairs)s %(pair_word)s + rush %(rush)s + postage %(postage)s, tax included"
        " = %(amount)s"
    ),
    "net_extras_added": _(
        "%(per_pair)s x %(pairs)s %(pair_word)s + rush %(rush)s + postage %(postage)s, before tax"
        " = %(amount)s"
    ),
    "tax_part_included": _(
        "%(taxed)s of it taxed x %(percent)s / (100 + %(percent)s) = %(amount)s"
    ),
    "tax_part_added": _("%(taxed)s of it taxed x %(percent)s %% = %(amount)s"),
    "tax_none": _("not registered, so no tax = %(amount)s"),
    "fees_several": _("%(parts)s = %(amount)s"),
    "price_included": _("%(per_pair)s x %(pairs)s %(pair_word)s, tax included = %(amount)s"),
    "price_added": _("%(net)s + tax %(tax)s = %(amount)s"),
    "net_included": _("%(price)s - tax %(tax)s = %(amount)s"),
    "net_added": _("%(per_pair)s x %(pairs)s %(pair_word)s, before tax = %(amount)s"),
    "tax_included": _("%(price)s x %(percent)s / (100 + %(percent)s) = %(amount)s"),
    "tax_added": _("%(net)s x %(percent)s %% = %(amount)s"),
    "fees_with_tax": _(
        "%(percent)s %% of the price with tax (%(base)s) + %(fixed)s fixed = %(amount)s"
    ),
    "fees_without_tax": _(
        "%(percent)s %% of the price without tax (%(base)s) + %(fixed)s fixed = %(amount)s"
    ),
    "as_written": _("%(text)s"),
    "as_agreed": _("%(amount)s as agreed"),
    "profit": _("%(price)s - tax %(tax)s - fees %(fees)s - cost %(cost)s = %(amount)s"),
    "bill_area_measured": _(
        "%(pieces)s pieces for one pair, %(quantity)s dm2 within their cut lines;"
        " %(waste)s %% of what is taken is waste, measured on the layout"
    ),
    "bill_area_estimated": _(
        "%(pieces)s pieces for one pair, %(quantity)s dm2 within their cut lines;"
        " %(waste)s %% of what is taken is waste, estimated"
    ),
    "bill_area_on_hide": _(
        "%(quantity)s dm2 of this hide for a pair on the average of %(pairs)s, within the cut lines"
        " of the pieces that lie on it; %(waste)s %% of what is taken is waste, measured on the"
        " layout"
    ),
    "cost_on_shelf": _(
        "a %(unit)s at %(cost)s: what the next goods on the shelf cost, %(way)s (today's price of a"
        " pack: %(pack)s)"
    ),
    "cost_beyond_shelf": _(
        "a %(unit)s at %(cost)s: %(there)s %(unit)s of it at what the goods on the shelf cost,"
        " %(way)s, the rest at today's price of a pack, %(pack)s"
    ),
    "bill_clay": _(
        "%(pieces)s sole pieces for one pair, %(volume)s cm3 finished, shrinking %(shrinkage)s %%"
        " in length, %(density)s g a cm3 = %(quantity)s g"
    ),
    "bill_thread": _(
        "%(seam)s m of seam x %(factor)s + %(ends)s m of ends, and %(added)s %% more = %(quantity)s"
        " m"
    ),
    "bill_lace": _(
        "%(rows)s rows, %(pitch)s mm apart, opening %(opening)s mm: %(lacing)s %(crossing)s mm"
        " + %(through)s mm through the leather + two tying ends of %(end)s mm,"
        " %(laces)s laces = %(quantity)s m"
    ),
    "bill_eyelets": _(
        "%(count)s eyelets for one pair and %(spare)s %% spares, up to whole ones = %(quantity)s"
    ),
    "bill_hooks": _(
        "%(count)s hooks for one pair and %(spare)s %% spares, up to whole ones = %(quantity)s"
    ),
    "bill_flat": _("%(quantity)s %(unit)s a pair"),
}


@dataclass(frozen=True, slots=True)
class How:
    """A sentence by its code, and the numbers in it as text."""

    code: str
    parameters: Mapping[str, str]

    @property
    def text(self) -> str:
        """Return the sentence in English."""
        return SENTENCES[self.code] % self.parameters


def pair_word(pair_count: int) -> str:
    """Return ``"pair"`` or ``"pairs"``."""
    return "pair" if pair_count == 1 else "pairs"
