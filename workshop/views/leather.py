"""Leather: lots, hides and their outlines."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.forms.hides import MARKS, HideEntry, take_outline
from workshop.forms.rub_tests import RubTestForm
from workshop.forms.stock import LotForm
from workshop.hide_sheet import hide_sheet, hide_sheet_of
from workshop.list_columns import LEATHER
from workshop.listing import Listing
from workshop.models import Hide, LeatherLot, RubTest, WorkshopProfile
from workshop.photo_files import photo_content, photo_take
from workshop.selectors.hide_history import hide_history
from workshop.selectors.stock import HIDES_SHOWN, hide_shown, lot_row, lot_shown, lots_found
from workshop.services.stock import hide_receive
from workshop.uploads import UploadError, read_outline_upload, unit_asked, upload_given
from workshop.views.large import answers_too_much
from workshop.views.pages import record_form_page, search_text, take_errors

OUTLINE_FIELDS = ("corners", "width_mm", "height_mm")
# What a maker calls the parts of a hide; offered while typing, any other name is taken too.
PARTS = (
    gettext_lazy("butt"),
    gettext_lazy("shoulder"),
    gettext_lazy("belly"),
    gettext_lazy("neck"),
    gettext_lazy("flank"),
)


def leather(request: HttpRequest) -> HttpResponse:
    """Show the lots with their hides."""
    asked, listing = _asked(request), Listing(LEATHER, request)
    found = lots_found(asked["q"], asked["state"], hides_most=HIDES_SHOWN)
    context = {
        "listing": listing,
        "page": listing.page(found, lot_row),
        "asked": asked,
        "states": Hide.State.choices,
        **_currency(),
    }
    return render(request, "leather/leather.html", context)


def leather_file(request: HttpRequest) -> HttpResponse:
    """Send the lots with their hides as a table, a row a hide."""
    asked, listing = _asked(request), Listing(LEATHER, request)
    lots = listing.all_of(lots_found(asked["q"], asked["state"]), lot_row)
    return listing.file("leather", ((lot, hide) for lot in lots for hide in lot.hides or [None]))


def _asked(request: HttpRequest) -> dict[str, str]:
    return {"q": search_text(request), "state": request.GET.get("state", "")}


def lot_new(request: HttpRequest) -> HttpResponse:
    """Ask for a new lot."""
    form = LotForm(request.POST or None)
    return _lot_form_page(request, form, title=_("New lot of leather"))


def lot_change(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Change a lot; hides already recorded keep their cost."""
    lot = get_object_or_404(LeatherLot, pk=lot_id)
    form = LotForm(request.POST or None, instance=lot)
    return _lot_form_page(request, form, title=_("Change %(lot)s") % {"lot": lot})


def _lot_form_page(request: HttpRequest, form: LotForm, *, title: str) -> HttpResponse:
    return record_form_page(
        request,
        form,
        template="leather/lot_form.html",
        then=lambda lot: reverse("lot", args=[lot.pk]),
        context={"title": title},
    )


def lot(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Show a lot and its hides."""
    record = get_object_or_404(LeatherLot, pk=lot_id)
    row, hides = lot_shown(record, request.role, before=request.GET.get("before", ""))
    context = {"lot": row, "page": hides, "rub_tests": record.rub_tests.all()[:10], **_currency()}
    return render(request, "leather/lot.html", context)


def rub_test_new(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Ask what a white cloth showed, dry and damp."""
    record = get_object_or_404(LeatherLot, pk=lot_id)
    return record_form_page(
        request,
        RubTestForm(request.POST or None, instance=RubTest(lot=record, made_by=request.user)),
        template="leather/rub_test.html",
        then=reverse("lot", args=[record.pk]),
        context={"lot": record},
        said=_("The rub test is kept."),
    )


def hide(request: HttpRequest, hide_id: int) -> HttpResponse:
    """Show a hide: its drawing and its figures."""
    record = get_object_or_404(
        Hide.objects.select_related("lot", "remnant_of", "reserved_for__doll"), pk=hide_id
    )
    context = {
        "hide": hide_shown(record, request.role),
        "history": hide_history(record),
        "sheet": hide_sheet_of(record),
        **_currency(),
    }
    return render(request, "leather/hide.html", context)


def _too_much_for(hide: Hide) -> HideEntry:
    entry = HideEntry({}, hide=hide)
    entry.is_valid()
    entry.form.errors.clear()
    entry.form.add_error("corners", _("That is far more than 5000 points; draw it with fewer."))
    return entry


def _hide_new_too_much(request: HttpRequest, lot_id: int) -> HttpResponse:
    return _hide_form(request, _too_much_for(_new_hide(lot_id)))


def _hide_change_too_much(request: HttpRequest, hide_id: int) -> HttpResponse:
    return _hide_form(request, _too_much_for(_old_hide(hide_id)))


def _hide_preview_too_much(request: HttpRequest, lot_id: int) -> HttpResponse:
    return _preview(request, _too_much_for(_new_hide(lot_id)))


def _new_hide(lot_id: int) -> Hide:
    lot = get_object_or_404(LeatherLot, pk=lot_id)
    return Hide(lot=lot, thickness_mm=lot.thickness_mm, outline=[], defects=[], areas=[])


def _old_hide(hide_id: int) -> Hide:
    return get_object_or_404(Hide.objects.select_related("lot"), pk=hide_id)


@answers_too_much(_hide_new_too_much)
def hide_new(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Ask for a hide of a lot, draw what was typed, and record it."""
    return _hide_page(request, _new_hide(lot_id))


@answers_too_much(_hide_change_too_much)
def hide_change(request: HttpRequest, hide_id: int) -> HttpResponse:
    """Change a hide."""
    return _hide_page(request, _old_hide(hide_id))


@answers_too_much(_hide_preview_too_much)
def hide_preview(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Draw the hide as typed so far; nothing is stored."""
    entry = HideEntry(request.POST, hide=_hide_drawn(request, lot_id))
    entry.is_valid()
    return _preview(request, entry)


def _hide_drawn(request: HttpRequest, lot_id: int) -> Hide:
    """Return the hide that is being changed, or a new one."""
    asked = request.GET.get("hide", "")
    if asked.isascii() and asked.isdigit() and len(asked) < 12:
        return get_object_or_404(Hide.objects.select_related("lot"), pk=int(asked), lot_id=lot_id)
    return _new_hide(lot_id)


def _hide_page(request: HttpRequest, record: Hide) -> HttpResponse:
    if request.method != "POST":
        return _hide_form(request, HideEntry(None, hide=record))
    data, file_faults, has_file = _with_files(request)
    entry = HideEntry(data, hide=record)
    is_look = has_file or bool(file_faults) or "preview" in request.POST
    if entry.is_valid() and not is_look:
        saved = entry.form.save(commit=False)
        for name, value in entry.columns.items():
            setattr(saved, name, value)
        try:
            hide_receive(
                saved,
                value=entry.value,
                cost=entry.cost,
                by=request.user,
                loaded=entry.form.loaded,
            )
        except ValidationError as error:
            take_errors(entry.form, error)
        else:
            messages.success(request, _("%(hide)s is saved.") % {"hide": saved})
            return redirect("hide", saved.pk)
    if has_file and not any(data.get(name) for name in OUTLINE_FIELDS):
        # Only a photograph was added: that there is no outline yet is no fault so far.
        entry.form.errors.pop("width_mm", None)
    return _hide_form(request, entry, file_faults)


def _with_files(request: HttpRequest) -> tuple[QueryDict, dict[str, list[str]], bool]:
    """Return what was sent with the files in it taken in, their faults, and whether one came."""
    data = request.POST.copy()
    faults: dict[str, list[str]] = {}
    has_file = False
    try:
        if photo := upload_given(request, "photo_file"):
            has_file = True
            data["photo"] = photo_take(photo)
            data.update(dict.fromkeys(MARKS, ""))
    except UploadError as error:
        faults["photo"] = error.messages
    try:
        if outline := upload_given(request, "outline_file"):
            has_file = True
            read = read_outline_upload(outline, unit=unit_asked(data, "outline_unit"))
            take_outline(data, read["outline"], read["defects"])
    except UploadError as error:
        faults["outline"] = error.messages
    return data, faults, has_file


def _hide_form(
    request: HttpRequest, entry: HideEntry, file_faults: dict[str, list[str]] | None = None
) -> HttpResponse:
    context = {
        "entry": entry,
        "hide": entry.hide,
        "lot": entry.hide.lot,
        "sheet": _sheet(entry),
        "photograph": entry.form.photograph,
        "parts": PARTS,
        "file_faults": file_faults or {},
    }
    return render(request, "leather/hide_form.html", {**context, **_currency()})


def photograph(request: HttpRequest, digest: str) -> HttpResponse:
    """Send the photograph of a hide, named by what is in it."""
    content = photo_content(digest)
    if content is None:
        raise Http404(_("This photograph is not in the data folder; add it again."))
    return HttpResponse(content, content_type="image/jpeg")


def _preview(request: HttpRequest, entry: HideEntry) -> HttpResponse:
    context = {"entry": entry, "sheet": _sheet(entry), "lot": entry.hide.lot, **_currency()}
    return render(request, "leather/_preview.html", context)


def _sheet(entry: HideEntry) -> object:
    if entry.value is not None:
        tight_way = entry.form.cleaned_data.get("tight_way_deg") or 0
        return hide_sheet(entry.value, float(tight_way), priced_by=entry.hide.lot)
    is_stored = entry.hide.pk is not None and not entry.form.is_bound
    return hide_sheet_of(entry.hide, priced_by=entry.hide.lot) if is_stored else None


def _currency() -> dict[str, object]:
    return {"currency": WorkshopProfile.current().currency}
