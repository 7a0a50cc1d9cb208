"""Whether a leather's colour may rub off on the doll, and what to do about it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop.models import LeatherLot, RubTest

if TYPE_CHECKING:
    from workshop.services.quoting import Worked


@dataclass(frozen=True, slots=True)
class Rubbing:
    """What the job's page says of a leather that may rub, or did."""

    lot: LeatherLot
    test: RubTest | None
    lined: bool
    sock: bool

    @property
    def came_off(self) -> bool:
        """Return whether the last test left colour on a cloth."""
        return self.test is not None and not self.test.is_clean


def last_rub_test(lot: LeatherLot) -> RubTest | None:
    """Return the newest rub test of a lot."""
    return RubTest.objects.filter(lot=lot).order_by("-id").first()


def rubbing_of(worked: "Worked") -> Rubbing | None:
    """Return what to heed of the chosen leather; None where its colour is not doubted."""
    choice = worked.choice
    lot = choice.hide.lot if choice.hide is not None else choice.lot
    if lot is None:
        return None
    test = last_rub_test(lot)
    # A test that came out clean takes the doubt away only as far as a hand can tell: it is said.
    if not lot.colour_may_rub and (test is None or test.is_clean):
        return None
    return Rubbing(
        lot=lot,
        test=test,
        lined=bool(worked.values.get("lining")),
        sock=bool(worked.values.get("sock_lining")),
    )
