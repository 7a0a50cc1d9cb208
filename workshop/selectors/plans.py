"""What was laid by hand for a job, and the list it is cut by."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.exchange.layout_file import placements_from_document
from patterns.layout.values import Placement
from workshop.models import Commission, CutLine, CutList, HandLayout, Hide
from workshop.plan_sheet import copy_name
from workshop.selectors.work_log import plans_for_stock

State = CutLine.State


def newest_by_hand(commission: Commission, key: str) -> HandLayout | None:
    """Return the newest layout by hand of a job for these pieces on this hide, or None."""
    return HandLayout.objects.filter(commission=commission, key=key).first()


def fixed_by_hand(commission: Commission, key: str) -> tuple[Placement, ...]:
    """Return the placements that the newest layout by hand keeps where they lie."""
    newest = newest_by_hand(commission, key)
    return placements_from_document(newest.fixed) if newest is not None else ()


def newest_on_hide(commission: Commission, hide: str) -> tuple[Placement, ...]:
    """Return the placements of a job's newest layout by hand on a hide, whatever it was for."""
    newest = commission.hand_layouts.first()
    rows = placements_from_document(newest.placements) if newest is not None else ()
    return tuple(row for row in rows if row.container == hide)


def newest_cut_list(commission: Commission) -> CutList | None:
    """Return the list a job is cut by, or None."""
    return commission.cut_lists.first()


def line_name(line: CutLine) -> str:
    """Return what a piece to cut is called."""
    return copy_name(line.piece, line.foot_side, line.number, line.of)


@dataclass(frozen=True, slots=True)
class LineGroup:
    """The lines of one material, or of one hide."""

    title: str
    hide: Hide | None
    material: str
    lines: list[CutLine]

    @property
    def done(self) -> int:
        """Return how many are cut."""
        return sum(line.state == State.CUT for line in self.lines)

    @property
    def of(self) -> int:
        """Return how many are to be cut, scrapped ones left out."""
        return sum(line.state != State.SCRAPPED for line in self.lines)

    @property
    def is_finished(self) -> bool:
        """Return whether nothing of it is left to cut."""
        return all(line.state != State.OPEN for line in self.lines)

    @property
    def to_tick(self) -> list[CutLine]:
        """Return the lines that may be ticked as cut."""
        return [x for x in self.lines if x.state == State.OPEN and not x.needs_a_place]

    @property
    def without_place(self) -> int:
        """Return how many have no place on their hide yet."""
        return sum(line.needs_a_place for line in self.lines)

    @property
    def progress_words(self) -> str:
        """Return how far it is."""
        return ngettext("%(done)d of %(of)d cut", "%(done)d of %(of)d cut", self.of) % {
            "done": self.done, "of": self.of,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class CutListShown:
    """A cut list as its page and its sheet show it.

    ``legend`` says of a job for stock which line each letter before a piece stands for.
    """

    record: CutList
    groups: list[LineGroup]
    scrapped_mm2: Decimal
    cut_mm2: Decimal
    legend: tuple[str, ...] = ()

    @property
    def lines(self) -> list[CutLine]:
        """Return every line in its order."""
        return [line for group in self.groups for line in group.lines]

    @property
    def scrapped(self) -> int:
        """Return how many pieces were thrown away."""
        return sum(line.state == State.SCRAPPED for line in self.lines)

    @property
    def done(self) -> int:
        """Return how many pieces are cut."""
        return sum(group.done for group in self.groups)

    @property
    def of(self) -> int:
        """Return how many pieces there are to cut in all."""
        return sum(group.of for group in self.groups)


def cut_list_shown(record: CutList) -> CutListShown:
    """Return a list in groups: hide by hide, then lining, soles and card; recuts at the end."""
    lines = list(
        record.lines.select_related("hide__lot", "done_by", "recut_of", "cut_list__commission")
    )
    groups: dict[tuple[str, int | None], LineGroup] = {}
    for line in lines:
        line.cut_list = record
        key = (line.material, line.hide_id)
        if key not in groups:
            groups[key] = LineGroup(group_title(line), line.hide, line.material, [])
        groups[key].lines.append(line)
    upper = [group for group in groups.values() if group.material == "upper"]
    others = [group for group in groups.values() if group.material != "upper"]
    return CutListShown(
        record=record,
        groups=[*upper, *others],
        scrapped_mm2=sum((x.area_mm2 for x in lines if x.state == State.SCRAPPED), Decimal(0)),
        cut_mm2=sum((x.area_mm2 for x in lines if x.state == State.CUT), Decimal(0)),
        legend=_legend(record.commission),
    )


def _legend(commission: Commission) -> tuple[str, ...]:
    if not commission.is_for_stock:
        return ()
    lines = plans_for_stock([commission.pk]).get(commission.pk, [])
    return tuple(
        ngettext(
            "%(letter)s: %(style)s, %(size)s, %(n)d pair",
            "%(letter)s: %(style)s, %(size)s, %(n)d pairs",
            line["pair_count"],
        )
        % {
            "letter": line["letter"],
            "style": line["style"]["name"],
            "size": line["size"],
            "n": line["pair_count"],
        }
        for line in lines
    )


def group_title(line: CutLine) -> str:
    """Return what a group of lines is cut from."""
    if line.hide is not None:
        return _("From %(hide)s") % {"hide": line.hide}
    return {
        "lining": _("Linings"),
        "sole": _("Soles and solid parts"),
        "card": _("Card"),
    }.get(line.material, _("Upper leather"))


def hides_to_recut_from(line: CutLine, free: list[Hide]) -> list[tuple[str, str]]:
    """Return from which hides a piece may be cut again: what is left of its own first."""
    if line.material != "upper":
        return []
    first = []
    if line.hide is not None and line.hide.state != Hide.State.CUT:
        first = [(str(line.hide.pk), _("what is left of %(hide)s") % {"hide": line.hide.code})]
    return first + [
        (str(hide.pk), str(hide))
        for hide in free
        if hide.pk != line.hide_id and hide.state != Hide.State.CUT
    ]
