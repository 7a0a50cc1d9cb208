"""Printers: measured, and which one sheets come out true from."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from workshop.models import Printer
from workshop.services.records import record_save


@transaction.atomic
def printer_measure(measured: Printer, *, by: AbstractBaseUser) -> Printer:
    """Keep what a printer's bars measured, and use it; one of that name is measured anew.

    Raises
    ------
    django.core.exceptions.ValidationError
        A field does not hold; nothing is stored.
    """
    printer = Printer.objects.filter(name=measured.name).first() or measured
    if printer is not measured:
        printer.across_mm, printer.along_mm = measured.across_mm, measured.along_mm
        printer.measured_at = timezone.now()
    record_save(printer, by=by, action="measured")
    printer_use(printer, by=by)
    return printer


@transaction.atomic
def printer_use(printer: Printer | None, *, by: AbstractBaseUser) -> None:
    """Let sheets come out true from this printer, or from none: as they are."""
    for other in Printer.objects.select_for_update().filter(in_use=True):
        if other != printer:
            other.in_use = False
            record_save(other, by=by, action="not in use")
    if printer is not None and not printer.in_use:
        printer.in_use = True
        record_save(printer, by=by, action="in use")
