"""Hides reserved, cut, and what is left of them: nothing joins the stock without a maker's yes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from shapely.geometry import Point, Polygon

from costing.stock_cost import share_out
from patterns.drawing.drawing import Turn
from patterns.exchange.layout_file import (
    document_from_layout,
    document_from_request,
    layout_from_document,
    request_from_document,
)
from patterns.hide import Hide as HideValue
from patterns.hide_area import hide_at_origin, ring_box, usable_hide_area_mm2, worth_area_mm2
from patterns.layout.ground import laid_shape, usable_shape
from patterns.layout.leftovers import leftovers
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import Ring
from workshop.bridge import hide_columns, hide_from_record, hide_value
from workshop.models import Commission, Cutting, Hide, LeftPiece, WorkshopProfile
from workshop.services.records import audit_write, fields_of, record_save
from workshop.services.stock import area_decimal, hide_receive

State = Hide.State
Fate = LeftPiece.Fate
# How much of a redrawn outline may lie where it cannot: a pencil's width along a hand's breadth.
OUTSIDE_MOST_MM2 = 100.0


@transaction.atomic
def hide_reserve(hide: Hide, *, commission: Commission, by: AbstractBaseUser | None) -> None:
    """Keep a hide on the shelf for a job, once, whoever asks first.

    Raises
    ------
    ValidationError
        It is reserved for another job, or cut; field ``hide``.
    """
    before = fields_of(hide)
    taken = Hide.objects.filter(pk=hide.pk, state=State.ON_SHELF).update(
        state=State.RESERVED, reserved_for=commission
    )
    hide.refresh_from_db()
    if not taken and hide.reserved_for_id != commission.pk:
        raise ValidationError({"hide": reserved_words(hide)}, code="not_free")
    if taken:
        audit_write(hide, by=by, action="reserved", before=before)


@transaction.atomic
def hide_release(hide: Hide, *, commission: Commission, by: AbstractBaseUser | None) -> None:
    """Put a hide that was reserved for a job back among the free ones."""
    before = fields_of(hide)
    freed = Hide.objects.filter(pk=hide.pk, state=State.RESERVED, reserved_for=commission).update(
        state=State.ON_SHELF, reserved_for=None
    )
    if freed:
        hide.refresh_from_db()
        audit_write(hide, by=by, action="released", before=before)


def reserved_words(hide: Hide) -> str:
    """Return why a hide cannot be taken for a job, naming who has it."""
    if hide.reserved_for is not None:
        return _("%(hide)s is reserved for %(job)s. Release it there, or choose another hide.") % {
            "hide": hide.code,
            "job": hide.reserved_for.code,
        }
    return _("%(hide)s is %(state)s. Choose another hide.") % {
        "hide": hide.code,
        "state": hide.get_state_display(),
    }


@transaction.atomic
def hide_cut(
    hide: Hide,
    *,
    commission: Commission | None,
    request: LayoutRequest,
    layout: Layout,
    least_width_mm: Decimal,
    least_area_mm2: Decimal,
    by: AbstractBaseUser | None,
) -> Cutting:
    """Note that a hide was cut by a layout, and propose what is left of it.

    Raises
    ------
    ValidationError
        The hide is reserved for another job, or cut already.
    LayoutError
        A smallest useful size is out of range.
    """
    value = hide_from_record(hide)
    left = leftovers(
        value,
        request,
        layout,
        least_width_mm=float(least_width_mm),
        least_area_mm2=float(least_area_mm2),
    )
    before = fields_of(hide)
    free = Q(state=State.ON_SHELF) | Q(state=State.RESERVED, reserved_for=None)
    if commission is not None:
        free |= Q(state=State.RESERVED, reserved_for=commission)
    cut = Hide.objects.filter(free, pk=hide.pk).update(state=State.CUT, reserved_for=None)
    hide.refresh_from_db()
    if not cut:
        raise ValidationError({"hide": reserved_words(hide)}, code="not_free")
    audit_write(hide, by=by, action="cut", before=before)
    cutting = Cutting(
        hide=hide,
        commission=commission,
        instance=document_from_request(request),
        layout=document_from_layout(layout),
        pieces_area_mm2=area_decimal(left.pieces_mm2),
        least_width_mm=least_width_mm,
        least_area_mm2=least_area_mm2,
        made_by=by,
    )
    record_save(cutting, by=by, action="cut")
    for position, remnant in enumerate(left.remnants, 1):
        piece = LeftPiece(
            cutting=cutting,
            position=position,
            area_mm2=area_decimal(usable_hide_area_mm2(remnant)),
            **hide_columns(remnant),
        )
        record_save(piece, by=by, action="proposed")
    return cutting


@dataclass(frozen=True, slots=True)
class Decision:
    """What is to become of a piece left: kept or not, and its outline if it was redrawn."""

    kept: bool
    outline_mm: Ring | None = None


@dataclass(frozen=True, slots=True)
class Rest:
    """What a cutting left, as values: each piece by its position, and each one's worth in money.

    ``costs`` are for all pieces that are kept, ``used_cost`` is what stays with the work; together
    they are the hide's cost.
    """

    values: dict[int, HideValue]
    costs: dict[int, Decimal]
    used_cost: Decimal


def left_value(piece: LeftPiece, outline_mm: Ring | None = None) -> HideValue:
    """Return a piece left as a hide; with a redrawn outline, its defects and areas clipped to it.

    Raises
    ------
    HideError
        The outline cannot be used.
    """
    value = hide_value(
        f"{piece.cutting.hide.code}/{piece.position}",
        piece.outline if outline_mm is None else outline_mm,
        defects=piece.defects,
        areas=piece.areas,
    )
    if outline_mm is None:
        return value
    ring = Polygon(value.outline_mm)
    return HideValue(
        value.id,
        value.outline_mm,
        tuple(
            ring_mm for _kind, ring_mm in value.named_defects if ring.intersects(Polygon(ring_mm))
        ),
        tuple(area for area in value.areas if ring.intersects(Polygon(area.outline_mm))),
        defect_kinds=tuple(
            kind for kind, ring_mm in value.named_defects if ring.intersects(Polygon(ring_mm))
        ),
    )


def rest_of(cutting: Cutting, kept: Mapping[int, HideValue]) -> Rest:
    """Return how a hide's cost is parted between what is kept of it and what was used.

    By area counted by its worth; to the minor unit, and adding up to the hide's cost.
    """
    whole = Fraction(worth_area_mm2(hide_from_record(cutting.hide)))
    worths = [Fraction(worth_area_mm2(value)) for value in kept.values()]
    used = max(Fraction(0), whole - sum(worths))
    *costs, used_cost = share_out(
        cutting.hide.cost, [*worths, used], WorkshopProfile.current().currency
    )
    return Rest(dict(kept), dict(zip(kept, costs, strict=True)), used_cost)


@transaction.atomic
def cutting_settle(
    cutting: Cutting, decisions: Mapping[int, Decision], *, by: AbstractBaseUser | None
) -> list[Hide]:
    """Take up what is kept as hides of their own, with their share of the cost; bin the rest.

    Parameters
    ----------
    cutting : Cutting
    decisions : mapping
        One for each piece left, by its position.

    Raises
    ------
    ValidationError
        It was settled already, or a redrawn outline lies where there is no leather any more; the
        field is ``piece-<position>-corners``.
    HideError
        A redrawn outline cannot be used.
    """
    pieces = list(cutting.left_pieces.select_related("cutting__hide"))
    if {piece.position for piece in pieces} != set(decisions):
        raise ValidationError(_("Say of each piece whether it is kept."), code="undecided")
    kept = {
        piece.position: left_value(piece, decisions[piece.position].outline_mm)
        for piece in pieces
        if decisions[piece.position].kept
    }
    redrawn = [n for n in kept if decisions[n].outline_mm is not None]
    _check_ground(cutting, kept, redrawn)
    before = fields_of(cutting)
    rest = rest_of(cutting, kept)
    settled = Cutting.objects.filter(pk=cutting.pk, settled_at=None).update(
        settled_at=timezone.now(), used_cost=rest.used_cost
    )
    cutting.refresh_from_db()
    if not settled:
        raise ValidationError(
            _("What is left of %(hide)s was decided already.") % {"hide": cutting.hide.code},
            code="settled",
        )
    audit_write(cutting, by=by, action="settled", before=before)
    return [hide for piece in pieces if (hide := _decided(piece, rest, by=by)) is not None]


@transaction.atomic
def cutting_undo(cutting: Cutting, *, by: AbstractBaseUser | None) -> Hide:
    """Take back that a hide was cut, while nothing of it was decided; it is on the shelf again.

    The trail keeps what was noted.

    Raises
    ------
    ValidationError
        What is left was decided already: remnants stand on the shelf.
    """
    open_cutting = Cutting.objects.select_for_update().filter(pk=cutting.pk, settled_at=None)
    if not open_cutting.exists():
        raise ValidationError(
            _("What is left of %(hide)s was decided already.") % {"hide": cutting.hide.code},
            code="settled",
        )
    hide = Hide.objects.select_related("lot").get(pk=cutting.hide_id)
    before = fields_of(hide)
    audit_write(cutting, by=by, action="taken back")
    cutting.left_pieces.all().delete()
    open_cutting.delete()
    Hide.objects.filter(pk=hide.pk, state=State.CUT).update(state=State.ON_SHELF)
    hide.refresh_from_db()
    audit_write(hide, by=by, action="not cut after all", before=before)
    return hide


def _decided(piece: LeftPiece, rest: Rest, *, by: AbstractBaseUser | None) -> Hide | None:
    value = rest.values.get(piece.position)
    if value is None:
        piece.fate = Fate.BINNED
        record_save(piece, by=by, action="binned")
        return None
    parent = piece.cutting.hide
    # Recorded as the layout had it: tight way along x, its lower left corner at the origin.
    hide = Hide(
        lot=parent.lot,
        thickness_mm=parent.thickness_mm,
        thickness_places=_places_on(value, parent),
        remnant_of=parent,
    )
    hide_receive(hide, value=hide_at_origin(value), cost=rest.costs[piece.position], by=by)
    columns: dict[str, Any] = hide_columns(value)
    for name in ("outline", "defects", "areas"):
        setattr(piece, name, columns[name])
    piece.area_mm2, piece.fate, piece.hide = hide.area_mm2, Fate.KEPT, hide
    record_save(piece, by=by, action="kept")
    return hide


def _places_on(value: HideValue, parent: Hide) -> list[dict[str, str]]:
    """Return where the thickness was measured on what is kept, in the remnant's own frame."""
    left, bottom, _width, _height = ring_box(value.outline_mm)
    ground = Polygon(value.outline_mm)
    turn = Turn(angle_deg=-float(parent.tight_way_deg))
    places = []
    for place in parent.thickness_places:
        x, y = turn((float(place["x_mm"]), float(place["y_mm"])))
        if ground.covers(Point(x, y)):
            at = {"x_mm": f"{x - left:.1f}", "y_mm": f"{y - bottom:.1f}"}
            places.append({**at, "thickness_mm": place["thickness_mm"]})
    return places


def _check_ground(cutting: Cutting, kept: Mapping[int, HideValue], redrawn: Sequence[int]) -> None:
    """Refuse redrawn outlines that lie beside the hide, on cut pieces, or on one another."""
    request = request_from_document(cutting.instance)
    layout = layout_from_document(cutting.layout)
    named = {piece.id: piece for piece in request.pieces}
    whole = Polygon(hide_from_record(cutting.hide).outline_mm)
    laid = [
        (row.id, laid_shape(named[row.id], row))
        for row in layout.placements
        if row.container == cutting.hide.code
    ]
    faults: dict[str, str] = {}
    for number in redrawn:
        ground = usable_shape(kept[number])
        beside = ground.difference(whole).area
        on_piece = [
            name for name, shape in laid if ground.intersection(shape).area > OUTSIDE_MOST_MM2
        ]
        on_other = [
            other
            for other, value in kept.items()
            if other != number and ground.intersection(usable_shape(value)).area > OUTSIDE_MOST_MM2
        ]
        if beside > OUTSIDE_MOST_MM2:
            faults[f"piece-{number}-corners"] = _(
                "%(area).0f mm² of this outline lie beside the hide. Draw it on what is left."
            ) % {"area": beside}
        elif on_piece:
            faults[f"piece-{number}-corners"] = _(
                "This outline lies on %(piece)s, which was cut out. Draw it on what is left."
            ) % {"piece": on_piece[0]}
        elif on_other:
            faults[f"piece-{number}-corners"] = _(
                "This outline lies on piece %(other)s as well. Draw them apart."
            ) % {"other": on_other[0]}
    if faults:
        raise ValidationError(faults)


@transaction.atomic
def hides_release_all(commission: Commission, *, by: AbstractBaseUser | None) -> None:
    """Free every hide reserved for a job that ended without work."""
    for hide in Hide.objects.filter(reserved_for=commission):
        hide_release(hide, commission=commission, by=by)
