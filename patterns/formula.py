"""Formula: a number of a style's file that follows the foot and other numbers."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Formula:
    """A number plus factors times landmarks, held between two bounds.

    The landmarks are the foot's measures and the style's parameters by key; so a tongue may be
    0.35 times the foot's length, but at most 40 mm wide.
    """

    number: float = 0.0
    times: tuple[tuple[str, float], ...] = ()
    at_least: float = float("-inf")
    at_most: float = float("inf")

    def value(self, landmarks: Mapping[str, float]) -> float:
        """Return the number for a foot with these landmarks.

        >>> Formula(2.0, (("foot_length", 0.1),), at_most=8.0).value({"foot_length": 75.0})
        8.0
        """
        total = self.number + sum(factor * landmarks[name] for name, factor in self.times)
        return min(max(total, self.at_least), self.at_most)


def formula_from(given: object) -> Formula:
    """Return the formula a style's file gives: a number, the key of one landmark, or a table.

    Raises
    ------
    TypeError, ValueError
        It is none of these, or holds something that is not a number.

    Examples
    --------
    >>> formula_from("lace_gap_mm").value({"lace_gap_mm": 6.0})
    6.0
    """
    if isinstance(given, str):
        return Formula(times=((given, 1.0),))
    if isinstance(given, int | float) and not isinstance(given, bool):
        return Formula(float(given))
    if not isinstance(given, Mapping):
        raise TypeError(f"{given!r} is neither a number nor a table")
    unknown = set(given) - {"number", "times", "at_least", "at_most"}
    if unknown:
        raise ValueError(f"{', '.join(sorted(unknown))} in {dict(given)!r}")
    return Formula(
        number=float(given.get("number", 0.0)),
        times=tuple((str(k), float(v)) for k, v in given.get("times", {}).items()),
        at_least=float(given.get("at_least", "-inf")),
        at_most=float(given.get("at_most", "inf")),
    )
