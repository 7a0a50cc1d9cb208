"""Leather for an order: which hides fit, offers, reserving, the gap, both faces, pairs left."""

from dataclasses import replace
from decimal import Decimal

import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse

from patterns.layout.estimate import DEFAULT_SAMPLES, WasteSample, leather_estimate
from patterns.layout.values import SPACING_MAX_MM
from tests.pdf_reading import page_sizes_mm, page_texts
from tests.workshop.fixtures_quotes import lay_out_now
from tests.workshop.fixtures_stock import make_hide, make_lot
from workshop.doors import HELPER, OWNER
from workshop.models import BackgroundJob, Cutting, Hide, LeatherLot, Quote
from workshop.selectors.leather_need import (
    LeatherNeed,
    LeatherWanted,
    leather_fits,
    leather_need,
)
from workshop.services.cuttings import hide_reserve
from workshop.services.orders import commission_take_in
from workshop.services.quoting import quote_make, work_out
from workshop.work import STOCK_PAIRS, run

pytestmark = pytest.mark.django_db

# 4 dm² a pair: 2.6 dm² of pieces, 35 % wasted.
NEED = LeatherNeed(26_000.0, 0.35, 0.35, 0.35, 0)


def square(side, lot, **changes):
    corners = ((0, 0), (side, 0), (side, side), (0, side))
    return make_hide(lot, outline=corners, defects=(), **changes)


def fits(commission, *, wanted=None, pairs=1, role=OWNER, laid=None):
    return leather_fits(
        NEED,
        wanted or LeatherWanted(),
        pair_count=pairs,
        commission=commission,
        role=role,
        laid=laid,
    )


def codes(found):
    return [fit.hide.code for fit in found.hides]


def test_hides_are_ranked_by_cost_and_remnants_come_first_where_it_is_equal(commission):
    dear, cheap = make_lot(price=Decimal("2")), make_lot(price=Decimal("1"))
    first, second, third = square(300, dear), square(300, cheap), square(300, cheap)
    remnant = square(300, cheap, remnant_of=first)
    small = square(100, cheap)
    found = fits(commission, pairs=2)
    assert codes(found) == [h.code for h in (remnant, second, third, first, small)]
    assert [fit.fits for fit in found.hides] == [True, True, True, True, False]
    # 2 pairs at 4 dm² and 1.00 a dm².
    assert found.hides[0].cost == Decimal("8.00")
    # 9 dm² give two pairs each, 1 dm² none.
    assert found.pairs_left == 8
    assert not found.none_is_enough
    assert fits(commission, pairs=3).none_is_enough


def test_colour_and_thickness_are_as_asked_at_every_place(commission):
    red = make_lot(colour="Red", thickness_mm=Decimal("1.0"))
    even, uneven = square(300, red), square(300, red)
    uneven.thickness_places = [{"x_mm": "9", "y_mm": "9", "thickness_mm": "1.4"}]
    uneven.save()
    square(300, make_lot(colour="blue"))
    wanted = LeatherWanted("red", Decimal("0.9"), Decimal("1.2"))
    assert codes(fits(commission, wanted=wanted)) == [even.code]


def test_a_reserved_hide_is_named_last_and_counts_for_its_own_order_alone(commission, owner):
    lot = make_lot()
    taken, free = square(300, lot), square(300, lot)
    other = commission_take_in(customer=commission.customer, doll=commission.doll, by=owner)
    hide_reserve(taken, commission=other, by=owner)
    found = fits(commission)
    assert codes(found) == [free.code, taken.code]
    assert found.hides[1].taken_by == other.code
    assert found.pairs_left == 2
    assert fits(other).pairs_left == 4


def test_pairs_counted_by_laying_out_stand_in_place_of_the_estimate(commission):
    lot = make_lot()
    one, two = square(300, lot), square(300, lot)
    assert fits(commission, laid={one.code: 3}).pairs_laid is None
    found = fits(commission, laid={one.code: 3, two.code: 1})
    assert (found.pairs_laid, found.pairs_left) == (4, 4)


def test_whoever_sees_no_money_is_given_none(commission):
    square(300, make_lot())
    make_lot(bought_on=None)
    found = fits(commission, role=HELPER)
    assert found.hides[0].cost is None
    assert found.offers[0].purchase is None


def test_the_waste_is_learned_from_finished_layouts_of_the_style(choice):
    worked = work_out(choice, with_money=False)
    before = leather_need(worked)
    assert before.layouts == 0
    style, length = choice.style.style.file_name, float(choice.foot.foot_length)
    whole = ((0.2, style, 1), (0.3, style, 2), (0.9, "another", 1))
    for share, name, pairs in (*whole, (0.1, style, 0)):
        BackgroundJob.objects.create(
            kind="layout", key=f"{share}", state="done",
            inputs={"style": name, "foot_length_mm": length},
            result={"waste": {"used_area_mm2": 1000.0 * (1 - share), "occupied_area_mm2": 1000.0,
                              "pairs": pairs}},
        )  # fmt: skip
    again = BackgroundJob.objects.get(key="0.2")
    again.pk = None
    again.save()  # made once more, it counts once
    need = leather_need(worked)
    # By the estimate itself, of the same samples.
    own = [WasteSample(name, length, pairs, 1000.0 * (1 - share), 1000.0)
           for share, name, pairs in whole]  # fmt: skip
    found = leather_estimate(
        need.net_mm2, style=style, foot_length_mm=length, samples=(*DEFAULT_SAMPLES, *own)
    )
    assert need.layouts == 2
    assert need.waste_share == found.waste_share != before.waste_share
    assert need.per_pair_mm2 == pytest.approx(found.area_mm2)
    assert need.waste_least < need.waste_share < need.waste_most
    assert need.pairs_in(need.per_pair_mm2 * 2.5) == 2


def test_an_offer_can_be_quoted_and_what_it_ties_up_is_shown(owner_client, choice, owner):
    lot = make_lot(name="Kid", colour="moss", price=Decimal(39), price_unit="hide",
                   whole_hide_dm2=Decimal(30), bought_on=None)  # fmt: skip
    worked = work_out(replace(choice, hide=None, lot=lot))
    (line,) = [line for line in worked.bill if line.key == "upper"]
    assert line.unit_cost == Decimal("1.3")
    assert line.estimated
    quote = quote_make(worked, by=owner)
    assert quote.snapshot["hide"]["code"] == lot.code
    assert owner_client.get(reverse("quote", args=[quote.pk])).status_code == 200
    job = reverse("job", args=[choice.commission.pk])
    # Coming back, the job shows what its newest quote was made for.
    page = owner_client.get(job, {"station": "leather"})
    assert page.context["worked"].choice.lot == lot
    page = owner_client.get(job, {"hide": f"L{lot.pk}", "pairs": "1", "station": "leather"})
    shown = page.context["purchase"].purchase
    assert shown.cost == 39
    text = page.content.decode()
    assert f"{shown.tied_up:.2f} EUR tied up" in text
    listed = owner_client.get(reverse("job-leather", args=[choice.commission.pk]))
    assert f"hide=L{lot.pk}" in listed.content.decode()


def test_an_offer_per_hide_needs_its_size_and_no_date(owner_client):
    data = {"name": "Kid", "colour": "moss", "thickness_mm": "0.8", "price": "39",
            "price_unit": "hide", "bought_on": ""}  # fmt: skip
    page = owner_client.post(reverse("lot-new"), data)
    assert "whole_hide_dm2" in page.context["form"].errors
    for name, value in (("whole_hide_dm2", "-3"), ("smallest_sold_dm2", "0")):
        page = owner_client.post(reverse("lot-new"), {**data, name: value})
        assert name in page.context["form"].errors
    assert not LeatherLot.objects.exists()
    owner_client.post(reverse("lot-new"), {**data, "whole_hide_dm2": "30", "tannage": "chrome"})
    lot = LeatherLot.objects.get()
    assert lot.is_offer
    text = owner_client.get(reverse("lot", args=[lot.pk])).content.decode()
    assert "not on the shelf" in text
    assert "1.3 EUR a dm²" in text
    assert "chrome" in text
    # With the first hide of it the leather is on the shelf.
    hide = make_hide(lot)
    lot.refresh_from_db()
    assert (lot.is_offer, hide.cost) == (False, 39)


def test_the_cost_of_a_usable_dm2_stands_with_how_it_came_about(owner_client, hide, client, helper):
    # 24 dm² at 1.10 are 26.40; 2 cm² of defect leave 23.98 dm²: 26.4 / 23.98 = 1.100917...
    page = owner_client.get(reverse("hide", args=[hide.pk])).content.decode()
    assert "1.100917 EUR" in page
    assert "26.40 EUR / 23.98 dm²" in page
    client.force_login(helper)
    page = client.get(reverse("hide", args=[hide.pk])).content.decode()
    assert "1.100917" not in page


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ({"colour": "purple"}, "colour"),
        ({"thinnest_mm": "-1"}, "thinnest_mm"),
        ({"thickest_mm": "NaN"}, "thickest_mm"),
        ({"thinnest_mm": "2", "thickest_mm": "1"}, "thickest_mm"),
    ],
)
def test_a_wish_no_leather_meets_is_told_beside_its_field(owner_client, choice, query, field):
    page = owner_client.get(reverse("job-leather", args=[choice.commission.pk]), query)
    assert page.status_code == 200
    assert field in page.context["asked"].errors
    if field == "colour":
        assert "No hide of the colour “purple”" in page.content.decode().replace("&quot;", '"')


@pytest.mark.parametrize("gap", ["-1", "NaN", str(SPACING_MAX_MM + 1), "wide"])
def test_a_gap_that_is_none_is_refused_beside_its_field(owner_client, choice, gap):
    page = owner_client.get(reverse("job", args=[choice.commission.pk]), {"gap": gap})
    assert "gap" in page.context["form"].errors
    assert not BackgroundJob.objects.exists()


def test_both_gaps_are_offered_and_the_layout_is_asked_with_the_chosen_one(
    owner_client, choice, hide
):
    job = reverse("job", args=[choice.commission.pk])
    page = owner_client.get(job, {"station": "leather"})
    assert page.context["worked"].request.spacing_mm == 1.5
    text = page.content.decode()
    assert "knife round the card, 1.5 mm" in text
    assert "gap=3" in text
    page = owner_client.get(job, {"gap": "3", "hide": hide.pk, "station": "leather"})
    assert page.context["worked"].request.spacing_mm == 3.0
    owner_client.post(reverse("layout-begin", args=[choice.commission.pk]), {"gap": "3"})
    assert BackgroundJob.objects.get().inputs["instance"]["spacing_mm"] == 3.0


def test_a_hide_another_order_has_reserved_is_refused_by_name_beside_the_choice(
    owner_client, choice, hide, owner
):
    commission = choice.commission
    other = commission_take_in(customer=commission.customer, doll=commission.doll, by=owner)
    address = reverse("hide-keep", args=[other.pk])
    owner_client.post(address, {"which": hide.pk})
    hide.refresh_from_db()
    assert hide.reserved_for == other
    job = reverse("job", args=[commission.pk])
    page = owner_client.get(job, {"hide": hide.pk, "pairs": "1"})
    assert f"{hide.code} is reserved for {other.code}" in str(page.context["form"].errors["hide"])
    kept = owner_client.post(
        reverse("hide-keep", args=[commission.pk]), {"which": hide.pk}, follow=True
    )
    assert f"reserved for {other.code}" in kept.content.decode()
    own = owner_client.get(reverse("job", args=[other.pk]), {"hide": hide.pk, "pairs": "1"})
    assert "hide" not in own.context["form"].errors
    owner_client.post(address, {"which": hide.pk, "release": "1"})
    hide.refresh_from_db()
    assert hide.state == Hide.State.ON_SHELF


def test_from_a_layout_to_both_faces_a_count_and_a_cut_hide(owner_client, owner, choice, hide):
    """One layout for all that follows from one, as it takes the longest."""
    commission, job = choice.commission, reverse("job", args=[choice.commission.pk])
    cut_page = reverse("layout-cut", args=[commission.pk])
    early = owner_client.get(cut_page, follow=True)
    assert "Lay the pieces out first" in early.content.decode()
    lay_out_now(choice, owner)
    grain = owner_client.get(job, {"station": "leather"}).content.decode()
    flesh = owner_client.get(job, {"station": "leather", "face": "flesh"}).content.decode()
    assert "grain side up" in grain
    assert "FLESH SIDE UP" not in grain
    assert "FLESH SIDE UP" in flesh
    sheet = reverse("job-layout-sheet", args=[commission.pk])
    for page in page_texts(owner_client.get(sheet, {"face": "flesh"}).content):
        assert "FLESH SIDE UP – turned over" in page
    assert "FLESH" not in "".join(page_texts(owner_client.get(sheet).content))
    pieces = reverse("job-cutting-sheet", args=[commission.pk])
    for page in page_texts(owner_client.get(pieces, {"face": "flesh"}).content):
        assert "FLESH SIDE UP – turned over" in page
    # Counting pairs, by the worker.
    owner_client.post(reverse("stock-count", args=[commission.pk]), {})
    work = BackgroundJob.objects.get(kind=STOCK_PAIRS)
    work.inputs["seconds"] = 0.5
    work.save()
    run(work.pk)
    page = owner_client.get(reverse("job-leather", args=[commission.pk]))
    counted = BackgroundJob.objects.get(pk=work.pk).result["pairs"]
    assert page.context["fits"].pairs_laid == counted[hide.code] > 0
    # Cutting.
    for faulty in ({"least_width_mm": "-1"}, {"least_width_mm": "25", "least_area_cm2": "NaN"}):
        page = owner_client.post(cut_page, faulty)
        assert page.status_code == 200
        assert page.context["sizes"].errors
    assert not Cutting.objects.exists()
    page = owner_client.get(cut_page)
    assert page.context["sheet"].count > 0
    answer = owner_client.post(cut_page, {"least_width_mm": "25", "least_area_cm2": "25"})
    cutting = Cutting.objects.get()
    assert answer.headers["Location"] == reverse("cutting", args=[cutting.pk])
    hide.refresh_from_db()
    assert hide.state == Hide.State.CUT
    again = owner_client.post(cut_page, {"hide": hide.pk, "least_width_mm": "25",
                                         "least_area_cm2": "25"}, follow=True)  # fmt: skip
    assert again.status_code == 200
    assert Cutting.objects.count() == 1
    assert not Quote.objects.exists()


@pytest.mark.paper
def test_a_labels_code_opens_the_hides_page_and_tells_no_money(owner_client, hide, client, helper):
    content = owner_client.get(reverse("hide-label", args=[hide.pk])).content
    assert page_sizes_mm(content) == [pytest.approx((100, 60), abs=0.1)]
    (text,) = page_texts(content)
    assert hide.code in text
    assert "23.98 dm²" in text
    assert "EUR" not in text
    assert "26.4" not in text
    # Source: zxing-cpp, an independent reader, on the label as a printer of 300 dpi has it.
    picture = pypdfium2.PdfDocument(content)[0].render(scale=300 / 72).to_pil()
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text == f"http://testserver/hides/{hide.pk}/"
    client.force_login(helper)
    assert client.get(f"/hides/{hide.pk}/").status_code == 200
