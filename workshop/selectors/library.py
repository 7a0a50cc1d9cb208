"""Customers, dolls and feet as the pages show them; contact data only for roles that may see it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import capfirst
from django.utils.translation import gettext

from patterns.drawing.foot import draw_foot_preview, draw_measure
from patterns.drawing.svg import drawing_svg
from patterns.errors import PatternError
from patterns.foot import MEASURE_BY_KEY, MEASURE_KEYS
from patterns.measures import CompleteMeasures, complete_measures
from patterns.pieces.piece import BuiltMeasure
from patterns.sizes import ShoeSizes, shoe_sizes
from workshop.bridge import foot_from_version
from workshop.doors import MONEY
from workshop.drafting import last_picture
from workshop.lengths import length_text
from workshop.list_columns import newest_length
from workshop.models import Commission, Customer, Doll, FootVersion
from workshop.selectors.orders import number_in

Points = list[list[float]]
JOBS_SHOWN = 50
# A tape reads to half a millimetre; below either bound a difference is no news to a maker.
TAPE_MM = 0.25
OFF_PERCENT = 0.3


def may_see_contact(role: str) -> bool:
    """Return whether a role sees e-mail, phone, address, and the customers' pages."""
    return role in MONEY


# --- customers and dolls -------------------------------------------------------------------


def customers_found(text: str) -> QuerySet[Customer]:
    """Return the customers whose name, e-mail or code holds the text."""
    customers = Customer.objects.all()
    if text:
        wanted = Q(name__icontains=text) | Q(email__icontains=text)
        number = number_in(text)
        if number is not None and text[:1].upper() in "C0123456789":
            wanted |= Q(number=number)
        customers = customers.filter(wanted)
    return customers


@dataclass(frozen=True, slots=True)
class DollRow:
    """A doll as lists show it; `customer_id` only for those who may open the customer's page."""

    id: int
    code: str
    name: str
    material: str
    feet_kind: str
    customer_name: str
    customer_id: int | None
    foot_length: str


def dolls_found(text: str, *, house_only: bool = False) -> QuerySet[Doll]:
    """Return the dolls whose name, code or customer's name holds the text, for `doll_row`."""
    dolls = Doll.objects.filter(_doll_wanted(text)) if text else Doll.objects.all()
    if house_only:
        dolls = dolls.filter(customer=None)
    return _with_length(dolls)


def dolls_of(customer: Customer, role: str) -> list[DollRow]:
    """Return a customer's dolls, newest first; at most 200."""
    dolls = _with_length(customer.dolls.all()).order_by("-number")[:200]
    return [doll_row(doll, role) for doll in dolls]


def _doll_wanted(text: str) -> Q:
    wanted = Q(name__icontains=text) | Q(customer__name__icontains=text)
    number = number_in(text)
    if number is not None:
        letter = text[:1].upper()
        wanted |= Q(customer__number=number) if letter == "C" else Q(number=number)
    return wanted


def _with_length(dolls: QuerySet[Doll]) -> QuerySet[Doll]:
    return (
        dolls.select_related("customer")
        .only("number", "name", "material", "feet_kind", "customer__name", "customer__number")
        .annotate(newest_length=newest_length())
    )


def doll_row(doll: Any, role: str) -> DollRow:
    """Return a doll as lists show it."""
    return DollRow(
        id=doll.pk,
        code=doll.code,
        name=doll.name,
        material=doll.get_material_display(),
        feet_kind=doll.get_feet_kind_display(),
        customer_name=doll.customer.name if doll.customer else "",
        customer_id=doll.customer_id if may_see_contact(role) else None,
        foot_length=length_text(doll.newest_length),
    )


@dataclass(frozen=True, slots=True)
class DollCard:
    """A doll's page: the record, whose it is, every foot measured and the jobs for it."""

    doll: Doll
    customer_name: str
    customer_id: int | None
    feet: list[FootVersion]
    jobs: list[Commission]


def doll_card(doll: Doll, role: str) -> DollCard:
    """Return a doll's page; the customer's name alone for those without contact data."""
    feet = list(doll.feet.select_related("made_by").defer("sole_outline", "side_profile"))
    return DollCard(
        doll,
        doll.customer.name if doll.customer else "",
        doll.customer_id if may_see_contact(role) else None,
        [_of_doll(foot, doll) for foot in feet],
        list(doll.commissions.order_by("-number")[:JOBS_SHOWN]),
    )


def _of_doll(foot: FootVersion, doll: Doll) -> FootVersion:
    foot.doll = doll
    foot.length_shown = length_text(foot.foot_length)
    return foot


def doll_with_customer_name(doll_id: int) -> Doll | None:
    """Return a doll, its customer loaded without contact data."""
    return (
        Doll.objects.select_related("customer")
        .defer(*(f"customer__{name}" for name in ("email", "phone", "address", "country", "note")))
        .filter(pk=doll_id)
        .first()
    )


def customer_suggestions() -> list[tuple[str, str]]:
    """Return code and name of the newest customers, for the list beside the box."""
    newest = Customer.objects.only("number", "name").order_by("-number")[:100]
    return [(customer.code, customer.name) for customer in newest]


# --- feet ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One measure of a foot as its page shows it: what was taken, and what the last came to."""

    key: str
    label: str
    value: str
    inferred: bool
    drawing: SafeString
    built: str
    off: str
    is_off: bool


@dataclass(frozen=True, slots=True)
class FootCard:
    """A foot's page: the version, its last, its thirteen measures, and its tracings."""

    version: FootVersion
    rows: list[MeasureRow]
    most_helpful: str
    last: SafeString
    source_kind: str
    fit_words: str
    tracing: SafeString
    sizes: ShoeSizes
    problem: str
    knee_clearance: str
    others: list[FootVersion]

    @property
    def given_count(self) -> int:
        """Return how many of the measures were taken, not inferred."""
        return sum(not row.inferred for row in self.rows)


def foot_version_of(version_id: int) -> FootVersion | None:
    """Return a foot version with doll and maker, without contact data."""
    return FootVersion.objects.select_related("doll", "made_by").filter(pk=version_id).first()


def foot_card(version: FootVersion) -> FootCard:
    """Return what a foot's page shows; a foot the core refuses today says why."""
    problem, complete, picture = "", None, None
    try:
        complete = complete_measures(foot_from_version(version))
        picture = last_picture(version)
    except PatternError as error:
        problem = error.text
    built = {measure.name: measure for measure in picture.measures} if picture else {}
    traced = bool(version.sole_outline or version.side_profile)
    return FootCard(
        version=version,
        rows=[_measure_row(version, key, complete, built.get(key)) for key in labels()],
        most_helpful=labels()[complete.most_helpful] if complete and complete.most_helpful else "",
        last=picture.svg if picture else mark_safe(""),
        source_kind=picture.source_kind if picture else "",
        fit_words=last_words(picture.measures) if picture else "",
        tracing=tracing_preview(version.sole_outline, version.side_profile)
        if traced
        else mark_safe(""),
        sizes=shoe_sizes(float(version.foot_length)),
        problem=problem,
        knee_clearance=length_text(version.knee_clearance_mm),
        others=list(
            FootVersion.objects.filter(doll_id=version.doll_id, foot_side=version.foot_side)
            .only("version", "foot_side", "reason", "made_at")
            .order_by("-version")[:20]
        ),
    )


def _measure_row(
    version: FootVersion,
    key: str,
    complete: CompleteMeasures | None,
    built: BuiltMeasure | None,
) -> MeasureRow:
    given = getattr(version, key)
    inferred = given is None
    value = length_text(given)
    if inferred and complete:
        value = f"{complete.values_mm[key]:.1f}"
    return MeasureRow(
        key,
        labels()[key],
        value,
        inferred,
        measure_drawing(key),
        f"{built.built_mm:.2f}" if built else "",
        off_words(built) if built else "",
        built is not None and not inferred and is_off(built),
    )


def is_off(measure: BuiltMeasure) -> bool:
    """Return whether a built measure differs from the asked one by more than a tape can tell."""
    off_mm = abs(measure.built_mm - measure.asked_mm)
    return off_mm > TAPE_MM and abs(measure.residual_percent) > OFF_PERCENT


def off_words(measure: BuiltMeasure) -> str:
    """Return by how much a built measure differs: as asked, or so many mm more or less."""
    off = round(measure.built_mm - measure.asked_mm, 2)
    return gettext("as asked") if abs(off) < 0.05 else f"{off:+.1f} mm".replace("-", "−")


def last_words(measures: Sequence[BuiltMeasure]) -> str:
    """Return in one sentence how the last came out against what was asked for."""
    off = [measure for measure in measures if not measure.inferred and is_off(measure)]
    if not off:
        return gettext("Every measure taken comes out on the last as it was taken.")
    worst = max(off, key=lambda measure: abs(measure.residual_percent))
    return gettext(
        "The last comes out otherwise at: %(names)s. Furthest off is %(worst)s, %(by)s."
    ) % {
        "names": ", ".join(measure_words(measure.name).lower() for measure in off),
        "worst": measure_words(worst.name).lower(),
        "by": off_words(worst),
    }


def measure_words(name: str) -> str:
    """Return what a measure of a last is called; level girths are numbered from below."""
    head, _, number = name.partition(" ")
    if head == "level_girth":
        return gettext("Level girth %(n)s") % {"n": number}
    return labels().get(name, name)


def labels() -> dict[str, str]:
    """Return the measures' words by key, in the order they are taken, without the unit."""
    return {key: label.removesuffix(" (mm)") for key, label in labels_with_unit().items()}


def labels_with_unit() -> dict[str, str]:
    """Return the measures' words by key with their unit, as forms show them."""
    names = ((key, FootVersion._meta.get_field(key).verbose_name) for key in MEASURE_KEYS)
    return {key: capfirst(str(name)) for key, name in names}


def measure_drawing(key: str) -> SafeString:
    """Return our line drawing of where a measure is taken; the words beside it tell the same."""
    return _measure_drawing(key, gettext(MEASURE_BY_KEY[key].label))


@lru_cache(maxsize=64)  # in a language or two
def _measure_drawing(key: str, label: str) -> SafeString:
    # The writer escapes every text it is given.
    return mark_safe(drawing_svg(draw_measure(key), title=label, fit_width_mm=26.0))


def tracing_preview(sole_outline: Points, side_profile: Points) -> SafeString:
    """Return tracings as they were read, at true size on a 10 mm grid."""
    drawing = draw_foot_preview(_pairs(sole_outline), _pairs(side_profile))
    return mark_safe(drawing_svg(drawing, title=gettext("The tracing on squares of 10 mm")))


def _pairs(points: Points) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x, y in points)
