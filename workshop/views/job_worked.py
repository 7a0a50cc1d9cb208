"""What follows from the choice on a job's page, worked out for every view that asks."""

from dataclasses import dataclass

from workshop.forms.orders import ChoiceForm
from workshop.forms.sale_choice import sale_of
from workshop.models import Commission, Correction, Style
from workshop.selectors.corrections import (
    CorrectionNote,
    corrections_mm,
    corrections_of,
    in_force,
    note_of,
)
from workshop.selectors.rubbing import lined_options
from workshop.services.quoting import SPACING_MM, Choice, Worked, work_out
from workshop.views.job_choice import take_option_fault


def worked_from(
    form: ChoiceForm, commission: Commission, *, with_money: bool, at_once: bool = False
) -> Worked | None:
    """Return what follows from a form, or None while it does not hold."""
    if not form.is_valid() or not (form.chosen("foot") and form.chosen("style")):
        return None
    hide, offer = form.chosen("hide"), form.chosen_offer()
    lot = hide.lot if hide is not None else offer
    choice = Choice(
        commission=commission,
        foot=form.chosen("foot"),
        style=form.chosen("style"),
        hide=hide,
        lot=offer,
        spacing_mm=_gap_mm(form),
        pair_count=form.cleaned_data["pairs"],
        # A lining against colour that may rub, unless it was said otherwise.
        options=lined_options(form.options(), form.option_names, lot),
        corrections=corrections_mm(_corrections_wanted(form, commission)),
        sale=sale_of(form.cleaned_data),
    )
    worked = work_out(choice, with_money=with_money, at_once=at_once)
    take_option_fault(form, worked)
    return worked


def _gap_mm(form: ChoiceForm) -> float:
    gap = form.cleaned_data["gap"]
    return SPACING_MM if gap is None else float(gap)


def _corrections_wanted(form: ChoiceForm, commission: Commission) -> list[Correction]:
    if form.leaves_corrections_out():
        return []
    return in_force(corrections_of(commission.doll, form.chosen("style").style))


@dataclass(frozen=True, slots=True)
class CorrectionsShown:
    """The corrections of a doll in a style as the job's page lists them."""

    style: Style
    rows: list[tuple[Correction, CorrectionNote]]
    can_note: bool
    left_out: bool


def corrections_shown(form: ChoiceForm, commission: Commission) -> CorrectionsShown | None:
    """Return the corrections of the style that is chosen, or None while none is."""
    if not form.is_valid():
        return None
    style = form.chosen("style").style
    found = corrections_of(commission.doll, style)
    return CorrectionsShown(
        style=style,
        rows=[(correction, note_of(correction, form.pattern)) for correction in found],
        can_note=form.pattern is not None,
        left_out=form.leaves_corrections_out() and bool(in_force(found)),
    )
