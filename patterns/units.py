"""The one place where lengths change unit."""

MM_PER_INCH = 25.4  # exact since 1959
POINTS_PER_INCH = 72.0  # PDF user space, ISO 32000-1
POINTS_PER_MM = POINTS_PER_INCH / MM_PER_INCH
MM2_PER_DM2 = 10_000.0
MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "m": 1000.0}


def mm_to_points(length_mm: float) -> float:
    """Return a length in PDF points.

    >>> round(mm_to_points(100), 4)
    283.4646
    """
    return length_mm * POINTS_PER_MM


def mm2_to_dm2(area_mm2: float) -> float:
    """Return an area in square decimetres, the unit leather is sold by."""
    return area_mm2 / MM2_PER_DM2


def ounces_to_mm(thickness_oz: float) -> float:
    """Return a leather thickness in mm; an ounce is 1/64 inch. Source: scope of ASTM D1814-70.

    >>> ounces_to_mm(1)
    0.396875
    """
    return thickness_oz * MM_PER_INCH / 64


def irons_to_mm(thickness_iron: float) -> float:
    """Return a sole leather thickness in mm; an iron is 1/48 inch. Source: scope of ASTM D1814-70.

    >>> round(irons_to_mm(1), 6)
    0.529167
    """
    return thickness_iron * MM_PER_INCH / 48
