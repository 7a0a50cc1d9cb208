"""Places of sale and destinations as pages show them and the price station offers them."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from workshop.models import Commission, DestinationTable, PlaceFee, PlaceOfSale, PlaceVersion
from workshop.read_once import read_once

MOST_PLACES = 200
ANYWHERE_ELSE = "*"  # what stands for the countries without a row, where one is typed or chosen


@dataclass(frozen=True, slots=True)
class PlaceShown:
    """A place with the version of its fees in use."""

    place: PlaceOfSale
    version: PlaceVersion
    fees: list[PlaceFee]

    @property
    def pct(self) -> Decimal:
        """Return all per cent fees together."""
        return sum((fee.pct for fee in self.fees), Decimal(0))


def places_shown(*, offered_only: bool = False) -> list[PlaceShown]:
    """Return the places by name, those no longer offered last."""
    versions = PlaceVersion.objects.prefetch_related("fees").order_by("-version")
    places = PlaceOfSale.objects.prefetch_related(Prefetch("versions", versions))
    if offered_only:
        places = places.filter(is_offered=True)
    shown = []
    for place in places.order_by("-is_offered", "name")[:MOST_PLACES]:
        newest = next(iter(place.versions.all()), None)
        if newest is not None:
            shown.append(PlaceShown(place, newest, list(newest.fees.all())))
    return shown


def place_in_use(place_id: int) -> PlaceVersion | None:
    """Return the version of a place in use, with its fees; None for no such place on offer."""
    versions = PlaceVersion.objects.filter(place=place_id, place__is_offered=True)
    return versions.select_related("place").prefetch_related("fees").order_by("-version").first()


@read_once
def destinations_in_use() -> DestinationTable | None:
    """Return the table of destinations in use with its rows; None where there is none yet."""
    tables = DestinationTable.objects.prefetch_related("postage", "taxes")
    return tables.order_by("-version").first()


def countries_of(table: DestinationTable | None) -> list[str]:
    """Return the countries a table names, in their order; the empty one is anywhere else."""
    if table is None:
        return []
    names = [row.country for row in (*table.postage.all(), *table.taxes.all())]
    named = sorted({name for name in names if name})
    return [*named, ""] if "" in names else named


def country_asked(job: Commission) -> str:
    """Return the row of the destinations that a job's own country stands for; else nothing."""
    wanted = job.country.strip().casefold()
    names = countries_of(destinations_in_use()) if wanted else []
    found = next((name for name in names if name.casefold() == wanted), None)
    if found is None:
        return ANYWHERE_ELSE if "" in names else ""
    return found
