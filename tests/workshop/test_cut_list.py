"""The cut list: made of the layout, ticked off, pieces scrapped with a reason and cut again."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from patterns.errors import LayoutError
from tests.pdf_reading import page_texts
from tests.workshop.fixtures_plans import planned, query_of
from tests.workshop.fixtures_stock import make_hide
from workshop.models import AuditEntry, BackgroundJob, CutLine, CutList, Cutting, Hide
from workshop.plan_sheet import Spot, placement_at
from workshop.recuts import recut_plan, recut_start
from workshop.services.cut_list_making import cut_list_make
from workshop.services.cut_lists import (
    cut_list_end,
    line_scrap,
    line_take_back,
    line_tick,
    recut_place,
)
from workshop.work import run

pytestmark = pytest.mark.django_db

State, Reason = CutLine.State, CutLine.Reason


@pytest.fixture
def cut_list(choice, owner):
    return cut_list_make(planned(choice, owner), by=owner)


def page_of(cut_list):
    return reverse("cut-list", args=[cut_list.commission_id])


def line_of(cut_list, **where):
    return cut_list.lines.filter(**where).first()


def fresh(line):
    return CutLine.objects.select_related("cut_list__commission", "hide__lot").get(pk=line.pk)


def place_free(cut_list, hide, line, spot, by):
    """Give a piece to cut again a place in a person's terms."""
    (copy,) = [c for c in recut_plan(cut_list, hide).ground.copies if c.number == line.pk]
    row = placement_at(copy.piece, spot, hide.code)
    recut_place(cut_list, hide, {line.pk: row}, by=by)


def tick_all(cut_list, by):
    for line in cut_list.lines.filter(state=State.OPEN):
        line_tick(fresh(line), by=by)


def test_every_copy_of_every_piece_is_on_the_list_uppers_first(cut_list, choice, hide):
    lines = list(cut_list.lines.all())
    assert [line.position for line in lines] == list(range(1, len(lines) + 1))
    materials = [line.material for line in lines]
    assert list(dict.fromkeys(materials)) == ["upper", "lining", "sole", "card"]
    upper = [line for line in lines if line.material == "upper"]
    assert len(upper) == 10
    assert all(line.hide == hide and line.placement for line in upper)
    assert all(line.hide is None and not line.placement for line in lines[10:])
    assert {line.foot_side for line in upper if line.piece == "toe box"} == {"left", "right"}
    hide.refresh_from_db()
    assert hide.reserved_for == choice.commission


def test_a_list_is_made_from_the_job_and_shown(choice, owner_client, owner):
    planned(choice, owner)
    address = reverse("cut-list", args=[choice.commission.pk])
    assert "no cut list yet" in owner_client.get(address).content.decode()
    assert owner_client.post(address, query_of(choice)).status_code == 302
    shown = owner_client.get(address).content.decode()
    assert "toe box, left foot" in shown
    assert "From H-0001" in shown
    assert AuditEntry.objects.filter(record_kind="cutlist", action="made", who=owner).exists()


def test_without_a_layout_there_is_nothing_to_cut_by(choice, owner_client):
    address = reverse("cut-list", args=[choice.commission.pk])
    answer = owner_client.post(address, query_of(choice), follow=True)
    assert "Lay the pieces out first" in answer.content.decode()
    assert not CutList.objects.exists()


def test_a_group_is_ticked_at_once_all_of_it_or_none(cut_list, client, helper):
    client.force_login(helper)
    address = reverse("cut-list-tick", args=[cut_list.pk])
    lines = list(cut_list.lines.order_by("position")[:3])
    foreign = max(CutLine.objects.values_list("pk", flat=True)) + 1
    asked = [*(line.pk for line in lines), foreign]
    answer = client.post(address, {"line": asked}, follow=True)
    assert "Look at it again" in answer.content.decode()
    assert not cut_list.lines.filter(state=State.CUT).exists()
    answer = client.post(address, {"line": [line.pk for line in lines]})
    assert answer.headers["Location"] == page_of(cut_list)
    assert [fresh(line).done_by for line in lines] == [helper] * 3
    client.post(address, {"line": [line.pk for line in lines]})  # twice is once
    assert AuditEntry.objects.filter(record_kind="cutline", action="cut").count() == 3
    client.post(address, {"line": ["", "x", "9" * 40]})
    assert cut_list.lines.filter(state=State.CUT).count() == 3


def test_a_tick_is_kept_with_who_and_when_and_taken_back(cut_list, client, helper):
    client.force_login(helper)
    line = line_of(cut_list)
    answer = client.post(reverse("cut-line-tick", args=[line.pk]))
    assert answer.headers["Location"] == f"{page_of(cut_list)}#line-{line.pk}"
    line = fresh(line)
    assert (line.state, line.done_by) == (State.CUT, helper)
    assert line.done_at is not None
    shown = client.get(page_of(cut_list)).content.decode()
    assert "cut by helper-login" in shown
    assert "EUR" not in shown
    client.post(reverse("cut-line-tick", args=[line.pk]))  # twice is once
    assert AuditEntry.objects.filter(record_kind="cutline", action="cut").count() == 1
    client.post(reverse("cut-line-back", args=[line.pk]))
    line = fresh(line)
    assert (line.state, line.done_by, line.done_at) == (State.OPEN, None, None)


def test_a_list_in_work_is_not_made_anew(cut_list, choice, owner):
    line_tick(fresh(line_of(cut_list)), by=owner)
    from workshop.services.quoting import work_out

    with pytest.raises(ValidationError, match="being cut by"):
        cut_list_make(work_out(choice), by=owner)
    line_take_back(fresh(line_of(cut_list)), by=owner)
    assert cut_list_make(work_out(choice), by=owner) != cut_list


def test_a_scrapped_piece_needs_a_reason_and_comes_back_to_be_placed(
    cut_list, hide, owner_client, owner
):
    line = line_of(cut_list, piece="toe box")
    address = reverse("cut-line-scrap", args=[line.pk])
    prefix = f"line-{line.pk}-"
    nothing = owner_client.post(address, {prefix + "again_from": hide.pk})
    assert "This field is required" in nothing.content.decode()
    no_words = owner_client.post(
        address, {prefix + "again_from": hide.pk, prefix + "reason": Reason.OTHER}
    )
    assert "Say in words what happened" in no_words.content.decode()
    nowhere = owner_client.post(
        address, {prefix + "again_from": 987654, prefix + "reason": Reason.FLAW}
    )
    assert "Select a valid choice" in nowhere.content.decode()
    assert fresh(line).state == State.OPEN
    answer = owner_client.post(
        address, {prefix + "again_from": hide.pk, prefix + "reason": Reason.SLIPPED}
    )
    assert answer.headers["Location"] == reverse("cut-list-place", args=[cut_list.pk, hide.pk])
    again = CutLine.objects.get(recut_of=line)
    assert (again.hide, again.placement, again.state) == (hide, {}, State.OPEN)
    assert again.needs_a_place
    shown = owner_client.get(page_of(cut_list))
    assert "the knife slipped" in shown.content.decode()
    assert shown.context["shown"].scrapped_mm2 == line.area_mm2
    assert "toe box" in owner_client.get(answer.headers["Location"]).content.decode()
    with pytest.raises(ValidationError, match="no place on a hide yet"):
        line_tick(fresh(again), by=owner)


def test_a_piece_cut_again_is_placed_clear_of_all_that_was_cut(cut_list, hide, owner):
    line = line_of(cut_list, piece="toe box", mirrored=False)
    again = line_scrap(fresh(line), reason=Reason.SLIPPED, hide=hide, by=owner)
    copies = recut_plan(cut_list, hide).ground.copies
    assert sum(copy.is_locked for copy in copies) == 10
    # Where the spoilt piece lay there is no leather any more.
    spoilt = next(copy for copy in copies if copy.number == line.pk)
    with pytest.raises(LayoutError, match="overlap"):
        recut_place(cut_list, hide, {again.pk: spoilt.placement}, by=owner)
    place_free(cut_list, hide, again, Spot(300.0, 100.0, 0.0, False), owner)
    assert fresh(again).placement["container"] == hide.code
    assert recut_plan(cut_list, hide) is None
    line_tick(fresh(again), by=owner)
    with pytest.raises(ValidationError, match="cut again already"):
        line_take_back(fresh(line), by=owner)


def test_scrapping_is_taken_back_while_nothing_was_cut_again(cut_list, hide, owner):
    line = line_of(cut_list, piece="toe box")
    line_tick(fresh(line), by=owner)
    line_scrap(fresh(line), reason=Reason.FLAW, hide=hide, by=owner)
    line_take_back(fresh(line), by=owner)
    assert fresh(line).state == State.OPEN
    assert not CutLine.objects.filter(recut_of=line).exists()


def test_a_piece_may_be_cut_again_from_another_hide_which_is_then_reserved(
    cut_list, choice, leather_lot, owner, owner_client
):
    other = make_hide(leather_lot, outline=((0, 0), (150, 0), (150, 120), (0, 120)), defects=())
    line = line_of(cut_list, piece="toe box")
    again = line_scrap(fresh(line), reason=Reason.FLAW, hide=other, by=owner)
    other.refresh_from_db()
    assert other.reserved_for == choice.commission
    # The search of the worker finds a place; it is kept only once somebody says so.
    address = reverse("cut-list-place", args=[cut_list.pk, other.pk])
    assert owner_client.post(address, {"rest": "1"}).headers["Location"] == address
    work = BackgroundJob.objects.latest("id")
    work.inputs["seconds"] = 0.2
    work.save()
    run(work.pk)
    assert fresh(again).placement == {}
    planned_now = recut_plan(cut_list, other)
    (copy,) = planned_now.ground.copies
    assert copy.placement is not None
    recut_place(cut_list, other, {again.pk: copy.placement}, by=owner)
    assert fresh(again).placement["container"] == other.code


def test_a_lining_is_cut_again_without_a_hide(cut_list, owner):
    line = line_of(cut_list, material="lining")
    again = line_scrap(fresh(line), reason=Reason.LOST, by=owner)
    assert again.hide is None
    line_tick(fresh(again), by=owner)
    assert fresh(again).state == State.CUT


def test_a_hide_is_done_when_all_is_cut_and_scrapped_pieces_are_waste(
    cut_list, hide, owner, owner_client
):
    line = line_of(cut_list, piece="toe box", mirrored=False)
    again = line_scrap(fresh(line), reason=Reason.SLIPPED, hide=hide, by=owner)
    place_free(cut_list, hide, again, Spot(300.0, 100.0, 0.0, False), owner)
    sizes = {"least_width_mm": Decimal(25), "least_area_mm2": Decimal(2500)}
    with pytest.raises(ValidationError, match="still to be cut"):
        cut_list_end(cut_list, hide, **sizes, by=owner)
    tick_all(cut_list, owner)
    address = reverse("cut-list-end", args=[cut_list.pk, hide.pk])
    assert "worth keeping" in owner_client.get(address).content.decode()
    answer = owner_client.post(address, {"least_width_mm": "25", "least_area_cm2": "25"})
    cutting = Cutting.objects.get()
    assert answer.headers["Location"] == reverse("cutting", args=[cutting.pk])
    hide.refresh_from_db()
    assert hide.state == Hide.State.CUT
    cut_mm2 = sum(x.area_mm2 for x in cut_list.lines.filter(hide=hide, state=State.CUT))
    assert cutting.pieces_area_mm2 == pytest.approx(cut_mm2, abs=Decimal(1))
    # The spoilt piece's place is no remnant, though it is no piece either.
    assert len(cutting.layout["placements"]) == 11
    with pytest.raises(ValidationError, match="noted as cut"):
        line_take_back(fresh(again), by=owner)


def test_a_bookkeeper_reads_the_list_and_changes_nothing(cut_list, client, bookkeeper):
    client.force_login(bookkeeper)
    line = line_of(cut_list)
    assert "Scrap" not in client.get(page_of(cut_list)).content.decode()
    for name in ("cut-line-tick", "cut-line-back", "cut-line-scrap"):
        assert client.post(reverse(name, args=[line.pk])).status_code == 403
    assert fresh(line).state == State.OPEN


@pytest.mark.paper
def test_the_sheet_has_every_piece_in_its_order_with_its_hide(cut_list, client, helper, owner):
    client.force_login(helper)
    line_scrap(fresh(line_of(cut_list)), reason=Reason.FLAW, reason_note="old scar",
               hide=cut_list.lines.first().hide, by=owner)  # fmt: skip
    answer = client.get(reverse("cut-list-sheet", args=[cut_list.pk]), {"paper": "Letter"})
    assert answer.headers["Content-Type"] == "application/pdf"
    text = " ".join(page_texts(answer.content))
    for words in ("toe box, left foot", "From H-0001", "Linings", "Card", "old scar"):
        assert words in text
    assert "EUR" not in text
    assert "Merle" not in text


def test_a_flaw_marked_since_does_not_judge_what_is_cut_already(cut_list, hide, owner):
    line = line_of(cut_list, piece="toe box", mirrored=False)
    again = line_scrap(fresh(line), reason=Reason.FLAW, hide=hide, by=owner)
    flaw = [[str(x), str(y)] for x, y in ((20, 350), (40, 350), (40, 370), (20, 370))]
    hide.refresh_from_db()
    hide.defects = [*hide.defects, {"kind": "scar", "outer": flaw}]
    hide.save()
    place_free(cut_list, hide, again, Spot(300.0, 100.0, 0.0, False), owner)
    tick_all(cut_list, owner)
    sizes = {"least_width_mm": Decimal(25), "least_area_mm2": Decimal(2500)}
    assert cut_list_end(cut_list, hide, **sizes, by=owner).hide == hide


def test_a_piece_without_a_place_is_given_another_hide(
    cut_list, hide, leather_lot, owner_client, owner
):
    line = line_of(cut_list, piece="toe box")
    again = line_scrap(fresh(line), reason=Reason.FLAW, by=owner)  # no hide was free
    address = reverse("cut-line-hide", args=[again.pk])
    assert address in owner_client.get(page_of(cut_list)).content.decode()
    other = make_hide(leather_lot, outline=((0, 0), (150, 0), (150, 120), (0, 120)), defects=())
    refused = owner_client.post(address, {"again_from": "987654"})
    assert "Select a valid choice" in refused.content.decode()
    answer = owner_client.post(address, {"again_from": other.pk})
    assert answer.headers["Location"] == reverse("cut-list-place", args=[cut_list.pk, other.pk])
    assert fresh(again).hide == other
    owner_client.post(address, {"again_from": hide.pk})
    place_free(cut_list, hide, again, Spot(300.0, 100.0, 0.0, again.mirrored), owner)
    assert "has its place already" in owner_client.post(
        address, {"again_from": other.pk}
    ).content.decode()  # fmt: skip


def test_the_search_finds_a_place_beside_a_flaw_that_spoilt_a_piece(cut_list, hide, owner):
    line = line_of(cut_list, piece="toe box", mirrored=False)
    again = line_scrap(fresh(line), reason=Reason.FLAW, hide=hide, by=owner)
    flaw = [[str(x), str(y)] for x, y in ((20, 330), (40, 330), (40, 370), (20, 370))]
    hide.refresh_from_db()
    hide.defects = [*hide.defects, {"kind": "scar", "outer": flaw}]
    hide.save()
    work = recut_start(recut_plan(cut_list, hide), [], by=owner)
    work.inputs["seconds"] = 0.2
    work.save()
    run(work.pk)
    (copy,) = [c for c in recut_plan(cut_list, hide).ground.copies if c.number == again.pk]
    assert copy.placement is not None
    recut_place(cut_list, hide, {again.pk: copy.placement}, by=owner)
