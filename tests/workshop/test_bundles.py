"""All papers of an order in one file, and the cutting sheets of many: begun, watched, sent."""

import io
import json
import zipfile

import pypdf
import pytest

from tests.pdf_reading import page_sizes_mm, page_texts
from tests.workshop.fixtures_quotes import lay_out_now
from workshop.kept_files import file_path
from workshop.models import BackgroundJob, Quote
from workshop.order_papers import PAPERS
from workshop.services.quotes import quote_accept
from workshop.services.quoting import quote_make, work_out
from workshop.work import ORDER_PAPERS, SHEETS, run, work_stop

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


def begin(client, choice):
    query = f"hide={choice.hide.pk}&pairs=1"
    at = f"/jobs/{choice.commission.pk}/all/"
    answer = client.post(at, {"query": query})
    assert (answer.status_code, answer.headers["Location"]) == (302, at)
    return BackgroundJob.objects.filter(kind=ORDER_PAPERS).order_by("-id").first(), at


def test_everything_of_an_order_comes_in_one_file(owner_client, helper, client, choice, owner):
    lay_out_now(choice, owner)
    quote = quote_make(work_out(choice), by=owner)
    work, at = begin(owner_client, choice)
    assert "progress" in owner_client.get(at).content.decode()
    run(work.pk)
    work.refresh_from_db()
    assert work.state == "done", work.fault
    assert not work.result["faults"]
    answer = owner_client.get(f"{at}file/")
    assert answer.headers["Content-Type"] == "application/zip"
    archive = zipfile.ZipFile(io.BytesIO(answer.content))
    assert archive.testzip() is None
    code = choice.commission.code
    names = {f"{code}/{code}-{name}" for name in PAPERS} | {f"{code}/{quote.code}.pdf"}
    assert set(archive.namelist()) == names
    for name in archive.namelist():
        content = archive.read(name)
        if name.endswith(".pdf"):
            assert pypdf.PdfReader(io.BytesIO(content)).pages
        elif name.endswith(".json"):
            assert json.loads(content)
        else:
            assert len(content) > 1000
    # What the file says of money equals the page's.
    total = str(work_out(choice).breakdown.price)
    assert total in " ".join(page_texts(archive.read(f"{code}/{code}-breakdown.pdf")))
    # A helper's own file has no money in it, and the owner's is not to be had.
    client.force_login(helper)
    assert client.get(f"{at}file/").status_code == 302
    mine, _at = begin(client, choice)
    run(mine.pk)
    packed = zipfile.ZipFile(io.BytesIO(client.get(f"{at}file/").content)).namelist()
    assert f"{code}/{code}-breakdown.pdf" not in packed
    assert f"{code}/{quote.code}.pdf" not in packed
    assert f"{code}/{code}-cutting-sheet.pdf" in packed


def test_a_lost_file_is_said_and_made_again(owner_client, choice):
    work, at = begin(owner_client, choice)
    run(work.pk)
    work.refresh_from_db()
    file_path("papers", ".zip", work.result["file"]).unlink()
    page = owner_client.get(f"{at}file/", follow=True).content.decode()
    assert "not there any more" in page


def test_choices_that_do_not_hold_fail_in_words(owner_client, choice):
    at = f"/jobs/{choice.commission.pk}/all/"
    owner_client.post(at, {"query": "pairs=-3"})
    work = BackgroundJob.objects.get(kind=ORDER_PAPERS)
    run(work.pk)
    work.refresh_from_db()
    assert work.state == "failed"
    assert "not chosen" in work.fault
    assert "not chosen" in owner_client.get(at).content.decode()


@pytest.fixture
def accepted(choice, owner):
    quote = quote_make(work_out(choice), by=owner)
    quote_accept(quote, by=owner)
    return Quote.objects.get(pk=quote.pk)


def test_the_sheets_of_jobs_in_work_come_as_one_pdf(owner_client, accepted):
    page = owner_client.get("/sheets/").content.decode()
    assert accepted.code in page
    answer = owner_client.post("/sheets/", {"quotes": [str(accepted.pk)]})
    work = BackgroundJob.objects.get(kind=SHEETS)
    assert answer.headers["Location"] == f"/sheets/{work.pk}/"
    run(work.pk)
    work.refresh_from_db()
    assert (work.state, work.result["count"]) == ("done", 1)
    content = owner_client.get(f"/sheets/{work.pk}/file/").content
    assert accepted.code in " ".join(page_texts(content))
    root = pypdf.PdfReader(io.BytesIO(content)).trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert f"/sheets/{work.pk}/file/" in owner_client.get(f"/sheets/{work.pk}/").content.decode()


def test_stopped_sheets_are_kept_and_go_on(owner_client, accepted, monkeypatch):
    owner_client.post("/sheets/", {"quotes": [str(accepted.pk)]})
    work = BackgroundJob.objects.get(kind=SHEETS)
    work_stop(work)
    work.refresh_from_db()
    assert work.state == "stopped"
    assert "Run it again" in owner_client.get(f"/sheets/{work.pk}/").content.decode()
    assert owner_client.get(f"/sheets/{work.pk}/file/").status_code == 302


@pytest.mark.parametrize("chosen", [[], ["999999"], ["x"]])
def test_no_job_ticked_is_said_beside_the_boxes(owner_client, accepted, chosen):
    answer = owner_client.post("/sheets/", {"quotes": chosen})
    assert answer.status_code == 200
    assert answer.context["form"].errors["quotes"]
    assert not BackgroundJob.objects.filter(kind=SHEETS).exists()


@pytest.mark.parametrize(
    "name", ["pieces.pdf", "pieces.exe", "layout.zip", "..svg", "cutting-sheet.pdf"]
)
def test_other_files_are_not_found(owner_client, choice, name):
    assert owner_client.get(f"/jobs/{choice.commission.pk}/{name}").status_code == 404


def test_a_layout_not_made_yet_is_asked_for(owner_client, choice):
    at = f"/jobs/{choice.commission.pk}/layout.dxf?hide={choice.hide.pk}&pairs=1"
    assert "Lay the pieces out first" in owner_client.get(at, follow=True).content.decode()


def test_the_label_says_what_for_whom_and_for_which_age(owner_client, choice, leather_lot, owner):
    leather_lot.colour_may_rub = True
    leather_lot.save()
    quote_make(work_out(choice), by=owner)
    at = f"/jobs/{choice.commission.pk}/label/?hide={choice.hide.pk}&pairs=1"
    content = owner_client.get(at).content
    (text,) = page_texts(content)
    assert page_sizes_mm(content) == [pytest.approx((100, 60), abs=0.1)]
    said = " ".join(text.split())
    assert choice.commission.code in said
    assert "mm long" in said
    assert "under 3 years" in said
    assert "colour may rub off" in said
    assert choice.commission.customer.name not in said
