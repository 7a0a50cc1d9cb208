"""Which supply a line of a bill of materials is: by its name among those of the line's kind.

Names alone do not say: a workshop may have a thread and a lace that it both calls "white".
"""

from collections.abc import Iterable

from workshop.models import Supply

# Which lines of the bill a supply of a kind may stand on.
LINES_OF_KIND: dict[str, tuple[str, ...]] = {
    Supply.Kind.THREAD: ("thread",),
    Supply.Kind.LACE: ("lace", "lace_left", "lace_right"),
    Supply.Kind.EYELET: ("eyelets",),
    Supply.Kind.CLAY: ("clay",),
    Supply.Kind.SOLE_LEATHER: ("sole",),
    Supply.Kind.LINING: ("lining",),
    Supply.Kind.GLUE: ("glue",),
    Supply.Kind.CARD: ("card",),
    Supply.Kind.BOX: ("box",),
}
KIND_OF_LINE = {key: kind for kind, keys in LINES_OF_KIND.items() for key in keys}
UPPER = "upper"  # comes from hides, which are counted one by one


class SuppliesNamed:
    """Supplies found by the lines of a bill; of two alike the one that comes later counts."""

    def __init__(self, supplies: Iterable[Supply]) -> None:
        rows = list(supplies)
        self._by_name = {supply.name: supply for supply in rows}
        self._by_kind = {(supply.kind, supply.name): supply for supply in rows}

    def of_line(self, key: str, name: str) -> Supply | None:
        """Return the supply of a line, or None: leather of a hide, or a name unknown today.

        One that was made a supply of another kind since is still found by its name.
        """
        if key == UPPER:
            return None
        return self._by_kind.get((KIND_OF_LINE.get(key, ""), name), self._by_name.get(name))
