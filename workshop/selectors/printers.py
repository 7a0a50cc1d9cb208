"""The printer that sheets for cutting come out true from."""

from patterns.drawing.paper import TRUE_PRINTER
from patterns.drawing.paper import Printer as PrinterScale
from workshop.models import Printer


def printer_in_use() -> PrinterScale:
    """Return what the printer in use makes of a millimetre; a true one if none is."""
    printer = Printer.objects.filter(in_use=True).first()
    return TRUE_PRINTER if printer is None else printer.scale
