"""What the care card of an order says, from its records and the quote it is made by."""

from typing import Any

from django.utils.translation import gettext as _

from workshop.documents.care_card import CareCard
from workshop.models import Commission, StockLine, WorkshopProfile
from workshop.paper_values import came_off, may_rub_as_quoted
from workshop.selectors.rubbing import options_of_pair
from workshop.selectors.styles import pattern_of
from workshop.selectors.work_log import quote_behind
from workshop.services.quote_snapshot import leather_facts


def care_card_of(commission: Commission) -> CareCard:
    """Return the card of an order; one without a quote, as a repair has none, names no leather.

    No name of a customer stands on it, as it stays with the doll.
    """
    assert commission.doll is not None
    profile = WorkshopProfile.current()
    made = quote_behind(commission, "style", "hide") or {}
    leather = made.get("hide") or {}
    style = (made.get("style") or {}).get("name", "")
    return CareCard(
        workshop=profile.name,
        order_code=commission.code,
        title=style or _("Shoes"),
        doll=commission.doll.name,
        leather=f"{leather['leather']}, {leather['colour']}" if leather else "",
        rubbing=colour_lines(leather),
        contact=_contact(profile),
    )


def care_card_of_line(line: StockLine) -> CareCard:
    """Return the card of the pairs of one line of a job for stock, by its plan once that stands."""
    run, profile = line.run, WorkshopProfile.current()
    plans = (run.plan or {}).get("lines", ())
    planned = next((row for row in plans if row["line"] == line.pk), {})
    leather = planned.get("hide")
    if leather is None:  # not begun yet, or begun before plans kept it
        leather = leather_facts(line.lot, planned.get("style", {}).get("values") or _lined(line))
    return CareCard(
        workshop=profile.name,
        order_code=f"{run.commission.code} {line.letter}",
        title=line.style.style.name,
        doll=line.foot.doll.name,
        leather=line.leather,
        rubbing=colour_lines(leather),
        contact=_contact(profile),
    )


def _lined(line: StockLine) -> dict[str, Any]:
    """Return a line's values as they will be drawn."""
    options = options_of_pair(line.style, line.lot, is_lined=line.is_lined)
    return {**pattern_of(line.style.style).values(line.style.values), **options}


def _contact(profile: WorkshopProfile) -> str:
    return " · ".join(line.strip() for line in profile.address.splitlines() if line.strip())


def colour_lines(leather: dict[str, Any]) -> tuple[str, ...]:
    """Return what stays with a doll about leather that may rub off; nothing for other leather."""
    if not may_rub_as_quoted(leather):
        return ()
    lines = [
        _("Dark or bright leather can stain a doll for good. Keep a sock between shoe and doll.")
    ]
    if leather.get("light_lining"):
        lines.append(_("The light lining holds colour back, but not for ever."))
    test = leather.get("rub_test")
    if came_off(leather):
        lines.append(_("Rubbed with a white cloth on %(on)s it left colour.") % test)
    elif test is not None:
        lines.append(
            _("Rubbed with a white cloth on %(on)s, dry and damp, it left no colour; that promises"
              " nothing for months of wear.") % test
        )  # fmt: skip
    return tuple(lines)
