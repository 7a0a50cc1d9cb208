"""The care card that goes into the parcel with an order."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from workshop.care_values import care_card_of
from workshop.documents.care_card import care_card_pdf
from workshop.models import Commission
from workshop.views.papers import paper_asked, pdf_answer


def care_card(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the care card of an order, by its accepted or newest quote, in ?paper= A4 or Letter."""
    jobs = Commission.objects.select_related("doll")
    commission = get_object_or_404(jobs, pk=job_id, doll__isnull=False)
    content = care_card_pdf(
        care_card_of(commission), made_on=timezone.localdate(), paper=paper_asked(request)
    )
    return pdf_answer(content, f"{commission.code}-care-card")
