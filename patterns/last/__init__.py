"""The last: the form a boot is built on, made from a foot's measures, tracings or mesh."""

from patterns.last.build import build_last
from patterns.last.last import Last
from patterns.last.measuring import measure_last
from patterns.last.wrap import wrapped

LAST_ENGINE = "last 2"

__all__ = ["LAST_ENGINE", "Last", "build_last", "measure_last", "wrapped"]
