"""What is chosen on a job's page: as hints beside its fields, and as an address."""

from decimal import Decimal
from urllib.parse import urlencode

from django.forms import BoundField
from django.http import QueryDict

from workshop.forms.orders import TYPED_IN, ChoiceForm
from workshop.forms.sale_choice import FIELD_OF_FAULT
from workshop.lengths import INCH, length_in, sentence_in
from workshop.selectors.styles import drawn_words
from workshop.services.quoting import Worked


def take_option_fault(form: ChoiceForm, worked: Worked) -> None:
    """Show what the style or the price refuses beside the field it names."""
    option = worked.fault_fields.get("pieces", "").removeprefix("parameters.")
    if option in form.option_names:
        form.add_error(option, sentence_in(worked.faults["pieces"], form.unit))
    asked = FIELD_OF_FAULT.get(worked.fault_fields.get("price", ""))
    if asked is not None:
        form.add_error(asked, worked.faults["price"])


def as_drawn(worked: Worked | None, form: ChoiceForm) -> list[tuple[str, str]]:
    """Return what the options left open came to, for a hint beside their fields."""
    if worked is None or worked.pieces is None or form.pattern is None:
        return [(name, "") for name in form.option_names]
    drawn = dict(worked.pieces.parameters)
    if "eyelet_count" in drawn:
        # Asked for as 0 it means: as many as fit.
        drawn["eyelet_count"] = max(
            (sum(hole.kind == "eyelet" for hole in piece.holes) for piece in worked.pieces.pieces),
            default=0,
        )
    return [
        (
            name,
            drawn_words(form.pattern.parameter(name), drawn[name], form.unit)
            if name in drawn
            else "",
        )
        for name in form.option_names
    ]


def with_hints(
    fields: list[BoundField], hints: list[tuple[str, str]]
) -> list[tuple[BoundField, str]]:
    """Return fields each with its hint."""
    known = dict(hints)
    return [(field, known.get(field.name, "")) for field in fields]


def choice_pairs(form: ChoiceForm) -> list[tuple[str, str]]:
    """Return the form's names and values, for an address or for hidden fields."""
    return [
        (name, str(form.data[name]))
        for name in form.fields
        if form.data.get(name) not in ("", None)
    ]


def choice_query(form: ChoiceForm) -> str:
    """Return the query that brings this choice back."""
    return urlencode(choice_pairs(form))


def changed_query(query: QueryDict, changes: dict[str, str]) -> str:
    """Return the query with some of its values changed; an empty one is left to the style.

    Lengths are given in mm, and stand in the query as its own are typed.
    """
    data = query.copy()
    is_inches = query.get(TYPED_IN) == INCH
    for name, value in changes.items():
        turns = is_inches and value and name.endswith("_mm")
        data[name] = length_in(Decimal(value), INCH) if turns else value
    return data.urlencode()


def picked_piece(query: QueryDict, worked: Worked | None) -> str:
    """Return the piece asked to be marked, or nothing where there is none of that name."""
    wanted = query.get("piece", "")
    pieces = worked.pieces.pieces if worked is not None and worked.pieces is not None else ()
    return wanted if any(piece.name == wanted for piece in pieces) else ""


def gap_query(query: QueryDict, gap: str) -> str:
    """Return the query with another gap between pieces, on the leather station."""
    return changed_query(query, {"gap": gap, "station": "leather"})
