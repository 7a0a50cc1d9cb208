"""What the care card of an order says, from its records and the quote it is made by."""

from django.utils.translation import gettext as _

from workshop.documents.care_card import CareCard
from workshop.models import Commission, WorkshopProfile
from workshop.paper_values import colour_caution
from workshop.selectors.work_log import quote_behind


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
        rubbing=colour_caution(leather),
        contact=" · ".join(line.strip() for line in profile.address.splitlines() if line.strip()),
    )
