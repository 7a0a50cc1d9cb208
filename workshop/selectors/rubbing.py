"""Whether a leather's colour may rub off on the doll, and what to do about it."""

from collections.abc import Container, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop.models import LeatherLot, RubTest, StyleVersion
from workshop.selectors.styles import pattern_of

if TYPE_CHECKING:
    from workshop.services.quoting import Worked


@dataclass(frozen=True, slots=True)
class Rubbing:
    """What the job's page says of a leather that may rub, or did.

    ``added`` tells that lining or sock lining are there because of it, not by the style.
    """

    lot: LeatherLot
    test: RubTest | None
    lined: bool
    sock: bool
    added: bool = False

    @property
    def came_off(self) -> bool:
        """Return whether the last test left colour on a cloth."""
        return self.test is not None and not self.test.is_clean


def last_rub_test(lot: LeatherLot) -> RubTest | None:
    """Return the newest rub test of a lot."""
    return RubTest.objects.filter(lot=lot).order_by("-id").first()


LININGS = ("lining", "sock_lining")
YES = "true"  # as a flag stands in an address


def may_rub(lot: LeatherLot) -> bool:
    """Return whether a leather's colour is doubted, or came off in its last test."""
    test = last_rub_test(lot)
    return lot.colour_may_rub or (test is not None and not test.is_clean)


def lined_options(
    options: Mapping[str, str], known: Container[str], lot: LeatherLot | None
) -> dict[str, str]:
    """Return a style's options with a lining and a sock lining for leather that may rub.

    What was chosen stays as it was: a maker may leave both off. `known` are the style's options.
    """
    if lot is None or not may_rub(lot):
        return dict(options)
    asked = {name: YES for name in LININGS if name in known}
    return asked | dict(options)


def options_of_pair(style: StyleVersion, lot: LeatherLot, *, is_lined: bool) -> dict[str, str]:
    """Return the options of a pair nobody ordered: lined where the colour may rub, if so wished."""
    known = [parameter.key for parameter in pattern_of(style.style).parameters]
    return lined_options({}, known, lot) if is_lined else {}


def rubbing_of(worked: "Worked") -> Rubbing | None:
    """Return what to heed of the chosen leather; None where its colour is not doubted."""
    choice = worked.choice
    lot = choice.hide.lot if choice.hide is not None else choice.lot
    if lot is None:
        return None
    # A test that came out clean takes the doubt away only as far as a hand can tell: it is said.
    if not may_rub(lot):
        return None
    plain = pattern_of(choice.style.style).values(choice.style.values)
    return Rubbing(
        lot=lot,
        test=last_rub_test(lot),
        lined=bool(worked.values.get("lining")),
        sock=bool(worked.values.get("sock_lining")),
        added=any(worked.values.get(name) and not plain.get(name) for name in LININGS),
    )
