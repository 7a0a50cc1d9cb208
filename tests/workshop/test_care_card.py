"""The card that goes into the parcel, and the lining that leather asks for whose colour may rub."""

from decimal import Decimal
from io import BytesIO

import pypdf
import pytest

from workshop.article_prices import price_articles
from workshop.models import Article, Doll, RubTest, StockRun
from workshop.paper_values import quote_paper_of
from workshop.selectors.stock_runs import run_work_out
from workshop.services.library import foot_measure
from workshop.services.quote_snapshot import leather_facts
from workshop.services.quoting import quote_make, work_out
from workshop.services.records import record_save
from workshop.services.stock_runs import run_take_in
from workshop.services.styles import style_version_make

pytestmark = pytest.mark.django_db
POINTS = {"A4": (595.28, 841.89), "Letter": (612, 792)}  # ISO 216; ANSI/ASME Y14.1


def card_text(client, job, paper, at="care-card"):
    answer = client.get(f"/jobs/{job.pk}/{at}/?paper={paper}")
    pages = pypdf.PdfReader(BytesIO(answer.content)).pages
    assert len(pages) == 1
    assert (pages[0].mediabox.width, pages[0].mediabox.height) == pytest.approx(
        POINTS[paper], abs=0.02
    )
    return " ".join(pages[0].extract_text().split())


def test_the_card_names_leather_age_and_what_a_rub_test_showed(
    client, helper, choice, leather_lot, owner
):
    client.force_login(helper)
    bare = card_text(client, choice.commission, "A4")
    assert bare.count("Not a toy and not assessed as one.") == 2  # two cards on a sheet
    assert "may rub off" not in bare
    leather_lot.colour_may_rub = True
    leather_lot.save()
    RubTest.objects.create(lot=leather_lot, dry="clean", damp="trace")
    quote_make(work_out(choice), by=owner)
    said = card_text(client, choice.commission, "Letter")
    assert "Juniper, Calf, chestnut" in said
    assert said.count("The colour may rub off") == 2
    assert "it left colour" in said
    assert "Keep away from children under 3 years" in said
    for private in ("Merle", "EUR"):
        assert private not in said


def test_leather_that_may_rub_is_lined_unless_the_maker_says_no(
    owner_client, choice, leather_lot, owner, style_version
):
    values = {"lining": False, "sock_lining": False}
    style_version_make(style_version.style, values=values, reason="bare", by=owner)
    at = f"/jobs/{choice.commission.pk}/?station=leather&hide={choice.hide.pk}&pairs=1"

    def worked(more=""):
        page = owner_client.get(at + more)
        return page, page.context["worked"].values

    page, values = worked()
    assert not values["lining"]
    leather_lot.colour_may_rub = True
    leather_lot.save()
    page, values = worked()
    assert (values["lining"], values["sock_lining"]) == (True, True)
    assert "on because of the colour" in page.content.decode()
    saved = owner_client.post(f"/jobs/{choice.commission.pk}/quote/", {
        "hide": choice.hide.pk, "pairs": 1, "style": page.context["form"].data["style"],
        "foot": choice.foot.pk,
    })  # fmt: skip
    assert "/quotes/" in saved.headers["Location"]
    included = quote_paper_of(choice.commission.quotes.first()).included
    assert "lined in a light leather" in included
    page, values = worked("&lining=false&sock_lining=false")
    assert (values["lining"], values["sock_lining"]) == (False, False)
    assert "These pieces have no lining" in page.content.decode()


def pairs_for_stock(owner, style_version, leather_lot, foot, **more):
    return run_take_in(
        note="", form_key=None, style=style_version, lot=leather_lot, pairs={foot: 1}, by=owner,
        **more,
    )  # fmt: skip


@pytest.fixture
def bare_style(style_version, owner):
    values = {"lining": False, "sock_lining": False}
    return style_version_make(style_version.style, values=values, reason="bare", by=owner)


@pytest.fixture
def size(owner):
    doll = Doll(name="House 75", material="other")
    record_save(doll, by=owner)
    measures = {"foot_length": Decimal(75), "ball_girth": Decimal("74.2")}
    return foot_measure(doll=doll, foot_side="left", measures=measures, reason="x", by=owner)


def test_pairs_for_stock_are_lined_where_the_colour_may_rub_unless_the_maker_says_no(
    owner_client, owner, bare_style, leather_lot, size, supplies, rate_card
):
    plain = pairs_for_stock(owner, bare_style, leather_lot, size)
    (row,) = run_work_out(plain).lines
    assert not row.worked.values["lining"]
    leather_lot.colour_may_rub = True
    leather_lot.save()
    (row,) = run_work_out(StockRun.objects.get(pk=plain.pk)).lines
    assert (row.worked.values["lining"], row.worked.values["sock_lining"]) == (True, True)
    assert {piece.material for piece in row.worked.pieces.pieces} >= {"lining"}
    assert (
        "colour may rub: lined" in owner_client.get(f"/jobs/{plain.pk}/for-stock/").content.decode()
    )
    sent = {"style": bare_style.pk, "leather": leather_lot.pk, f"size-{size.pk}": "1"}
    owner_client.post("/jobs/for-stock/new/", {**sent, "is_lined": "on"})
    owner_client.post("/jobs/for-stock/new/", sent)
    lined, unlined = StockRun.objects.order_by("pk")[1:]
    assert run_work_out(lined).lines[0].worked.values["lining"]
    assert not run_work_out(unlined).lines[0].worked.values["lining"]
    page = owner_client.get(f"/jobs/{unlined.pk}/for-stock/").content.decode()
    assert "colour may rub: not lined" in page


def test_articles_are_priced_lined_where_the_colour_may_rub(
    owner_client, owner, bare_style, leather_lot, size, supplies, rate_card
):
    leather_lot.colour_may_rub = True
    leather_lot.save()
    sent = {"style": bare_style.pk, "sizes": [size.pk], "leathers": [leather_lot.pk]}
    owner_client.post("/for-sale/new/", {**sent, "is_lined": "on"})
    (article,) = Article.objects.all()
    page = owner_client.get(f"/for-sale/{article.pk}/").content.decode()
    assert "colour may rub: lined" in page

    def lining():
        inputs = {"articles": [article.pk], "asked": {}}
        done = price_articles(inputs, lambda *_: None, rows={}, on_priced=lambda: None)
        lines = done["rows"][str(article.pk)]["lines"]
        return next(Decimal(x["amount"]) for x in lines if x["name"] == supplies["lining"].name)

    lined = lining()
    Article.objects.update(is_lined=False)
    assert lining() < lined / 2  # what is left is the tongue's
    page = owner_client.get(f"/for-sale/{article.pk}/").content.decode()
    assert "colour may rub: not lined" in page


def test_each_line_of_a_job_for_stock_has_a_care_card(
    client, helper, owner, bare_style, leather_lot, size, supplies, rate_card
):
    run = pairs_for_stock(owner, bare_style, leather_lot, size)
    client.force_login(helper)
    at = f"for-stock/care-card/{run.lines.get().position}"
    said = card_text(client, run.commission, "A4", at)
    assert f"{run.commission.code} A" in said
    assert "House 75, Calf, chestnut" in said
    assert "may rub off" not in said
    leather_lot.colour_may_rub = True
    leather_lot.save()
    said = card_text(client, run.commission, "Letter", at)
    assert said.count("The colour may rub off") == 2
    assert "The light lining holds colour back" in said
    # Once the work began, the card says what was written down then.
    worked = run_work_out(StockRun.objects.get(pk=run.pk))
    kept = leather_facts(leather_lot, worked.lines[0].worked.values)
    line = {"line": run.lines.get().pk, "style": {"values": {}}, "hide": kept}
    StockRun.objects.filter(pk=run.pk).update(plan={"lines": [line]})
    RubTest.objects.create(lot=leather_lot, dry="clean", damp="trace")
    assert card_text(client, run.commission, "A4", at) == said
    assert client.get(f"/jobs/{run.pk}/for-stock/care-card/2/").status_code == 404
