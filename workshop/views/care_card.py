"""The care card that goes into the parcel with an order."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from workshop.care_values import care_card_of, care_card_of_line
from workshop.documents.care_card import care_card_pdf
from workshop.models import Commission, StockLine
from workshop.views.papers import paper_asked, pdf_answer


def care_card(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the care card of an order, by its accepted or newest quote, in ?paper= A4 or Letter."""
    jobs = Commission.objects.select_related("doll")
    commission = get_object_or_404(jobs, pk=job_id, doll__isnull=False)
    content = care_card_pdf(
        care_card_of(commission), made_on=timezone.localdate(), paper=paper_asked(request)
    )
    return pdf_answer(content, f"{commission.code}-care-card")


def stock_care_card(request: HttpRequest, job_id: int, position: int) -> HttpResponse:
    """Send the care card of the pairs of one line of a job for stock, in ?paper= A4 or Letter."""
    lines = StockLine.objects.select_related("run__commission", "style__style", "foot__doll", "lot")
    line = get_object_or_404(lines, run=job_id, position=position)
    card = care_card_of_line(line)
    content = care_card_pdf(card, made_on=timezone.localdate(), paper=paper_asked(request))
    return pdf_answer(content, f"{line.run.commission.code}-{line.letter}-care-card")
