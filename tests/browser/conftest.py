"""The standing shop that the lives of orders begin in; every figure is invented."""

from decimal import Decimal

import pytest

from tests.browser.maker import Maker
from tests.workshop.conftest import customer, doll, every_page, foot_version  # noqa: F401
from tests.workshop.fixtures_stock import make_hide, make_lot


@pytest.fixture
def maker(page, client, owner, live_server):
    """The owner, logged in, before any page."""
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    page.context.add_cookies([{"name": "sessionid", "value": value, "url": live_server.url}])
    return Maker(page, live_server.url)


@pytest.fixture
def shop(supplies, owner):
    """Half of every price is asked as a deposit; postage to Elsewhere is set, no tax goes there."""
    from workshop.models import DestinationTable, DestinationTax, PostageLine, WorkshopProfile
    from workshop.services.places import destinations_save
    from workshop.services.records import record_save

    profile = WorkshopProfile.current()
    profile.name, profile.deposit_pct = "The Button Cellar", Decimal(50)
    profile.tax_wording = "No tax is charged on goods that leave the country."
    record_save(profile, by=owner)
    destinations_save(
        DestinationTable(reason="invented"),
        [
            PostageLine(
                country="Elsewhere",
                up_to_g=Decimal(500),
                charged=Decimal("9.50"),
                paid=Decimal("8.90"),
            )
        ],
        [DestinationTax(country="Elsewhere", pct=Decimal(0))],
        by=owner,
    )
    return profile


@pytest.fixture
def slip_on(db):
    from workshop.models import Style
    from workshop.services.styles import style_make

    return style_make(Style(name="Slip-on", file_name="slip-on"), by=None)


@pytest.fixture
def chestnut():
    """A whole hide of 24 dm² less one hole of 20 x 10 mm, at 1.10 a dm²."""
    return make_hide(make_lot())


@pytest.fixture
def green():
    """A hide of 6 dm² in another colour, at 1.40 a dm²."""
    lot = make_lot(colour="bottle green", price=Decimal("1.40"))
    return make_hide(lot, outline=((0, 0), (300, 0), (300, 200), (0, 200)), defects=())
