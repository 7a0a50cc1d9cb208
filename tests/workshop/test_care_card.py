"""The card that goes into the parcel, and the lining that leather asks for whose colour may rub."""

from io import BytesIO

import pypdf
import pytest

from workshop.models import RubTest
from workshop.paper_values import quote_paper_of
from workshop.services.quoting import quote_make, work_out
from workshop.services.styles import style_version_make

pytestmark = pytest.mark.django_db
POINTS = {"A4": (595.28, 841.89), "Letter": (612, 792)}  # ISO 216; ANSI/ASME Y14.1


def card_text(client, job, paper):
    answer = client.get(f"/jobs/{job.pk}/care-card/?paper={paper}")
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
