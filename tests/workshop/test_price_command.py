import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from pypdf import PdfReader

from tests.samples_jobs import PRICE_FILES, plain_job

JOB_A = str(PRICE_FILES / "job_a.json")
MANAGE = str(Path(__file__).parents[2] / "manage.py")


def price(*arguments: str) -> tuple[int, str, str]:
    """Return exit status, standard output and standard error of the command."""
    out, err = StringIO(), StringIO()
    try:
        call_command("price", *arguments, stdout=out, stderr=err, no_color=True)
    except SystemExit as end:
        return int(end.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def test_every_line_and_sum_is_printed_with_how_it_came_about():
    status, out, err = price(JOB_A)
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert "material: goat leather                   9.20  2.8 dm2 x 2 pairs / (1 - 30 %)" in out
    for name, amount in [
        ("cost ", "83.20"),
        ("price of one pair", "75.00"),
        ("price, what", "150.00"),
        ("tax", "25.00"),
        ("fees", "10.05"),
        ("profit", "31.75"),
    ]:
        assert any(line.startswith(name) and f" {amount}  " in line for line in lines)
    assert "25.40 %  of the price without tax" in out
    assert "margin" not in out


def test_breakdown_is_written_the_same_byte_for_byte(tmp_path):
    first, second = tmp_path / "one.json", tmp_path / "two.json"
    assert price(JOB_A, "--out", str(first))[0] == 0
    assert price(JOB_A, "--out", str(second))[0] == 0
    assert first.read_bytes() == second.read_bytes()
    assert json.loads(first.read_text())["profit"] == "31.75"


def test_paper_is_the_same_byte_for_byte_on_the_same_date_and_says_the_price(tmp_path):
    papers = [tmp_path / "one.pdf", tmp_path / "two.pdf"]
    for paper in papers:
        assert price(JOB_A, "--pdf", str(paper), "--date", "2026-05-31")[0] == 0
    assert papers[0].read_bytes() == papers[1].read_bytes()
    (page, *_more) = PdfReader(papers[0]).pages
    assert "150.00" in page.extract_text()
    assert float(page.mediabox.width) == pytest.approx(595.28, abs=0.01)


def test_paper_may_be_letter(tmp_path):
    paper = tmp_path / "one.pdf"
    assert price(JOB_A, "--pdf", str(paper), "--paper", "Letter", "--date", "2026-05-31")[0] == 0
    assert float(PdfReader(paper).pages[0].mediabox.width) == pytest.approx(612.0, abs=0.01)


BAD_FILES = {
    "nothing": "",
    "cut off": '{"currency": "EUR"',
    "a list": "[1, 2]",
    "not a number": json.dumps(plain_job(labour_rate_per_hour="NaN")),
    "a bare NaN": json.dumps(plain_job(labour_rate_per_hour=float("nan"))),
    "a missing key": json.dumps({"currency": "EUR"}),
    "a doubled key": '{"currency": "EUR", "currency": "USD"}',
    "too much profit": json.dumps(plain_job(profit={"kind": "margin", "pct": "100"})),
    "brackets": "[" * 100_000,
    "a long number": json.dumps(plain_job()).replace('"2.8"', "9" * 100_000),
    "a lone half of a letter": json.dumps(plain_job(currency="\ud800")),
    "no text": b"\xff\xfe\x00",
}


@pytest.mark.parametrize("fault", BAD_FILES)
def test_bad_file_is_one_line_exit_2_and_no_output_file(fault, tmp_path):
    content = BAD_FILES[fault]
    job, out = tmp_path / "job.json", tmp_path / "out.json"
    job.write_bytes(content if isinstance(content, bytes) else content.encode())
    pdf = tmp_path / "out.pdf"
    status, said, complaint = price(str(job), "--out", str(out), "--pdf", str(pdf))
    assert (status, said) == (2, "")
    assert len(complaint.strip().splitlines()) == 1
    assert "Traceback" not in complaint
    assert sorted(tmp_path.iterdir()) == [job]


def test_fault_names_its_field(tmp_path):
    job = tmp_path / "job.json"
    materials = [*plain_job()["materials"], {"name": "kid"}]
    job.write_text(json.dumps(plain_job(materials=materials)))
    assert price(str(job))[2].startswith("materials[2].quantity: is missing")


def test_file_that_is_not_there_and_folder_that_is_not_there(tmp_path):
    assert price(str(tmp_path / "none.json"))[0] == 2
    assert price(JOB_A, "--out", str(tmp_path / "none" / "out.json"))[0] == 2


def test_wrong_date_is_refused_from_the_shell(tmp_path):
    pdf = tmp_path / "out.pdf"
    ended = subprocess.run(
        [sys.executable, MANAGE, "price", JOB_A, "--pdf", str(pdf), "--date", "31 May"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 2
    assert "is not a date" in ended.stderr
    assert not pdf.exists()


def test_command_runs_from_the_shell(tmp_path):
    job = tmp_path / "job.json"
    job.write_text(json.dumps(plain_job(currency="euro")))
    ended = subprocess.run(
        [sys.executable, MANAGE, "price", str(job)], capture_output=True, text=True, check=False
    )
    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.startswith("currency: 'euro' is not a currency code in use")
