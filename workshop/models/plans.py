"""Pieces laid on a hide by hand, and the list by which a job is cut."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Unchanging
from workshop.models.orders import Commission
from workshop.models.stock import Hide


class HandLayout(Unchanging):
    """Where a maker laid the pieces of a job, and which of them are to stay; the newest counts.

    Each save is a record of its own, so that no work of a hand is written over.
    """

    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="hand_layouts"
    )
    # The key of the layout it is for: these pieces, this hide, this gap.
    key = models.CharField(max_length=64)
    # Placements as LAYOUT.json holds them; `fixed` are those of them that stay as they lie.
    placements = models.JSONField(default=list, blank=True)
    fixed = models.JSONField(default=list, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("layout by hand")
        ordering = ["-id"]
        indexes = [models.Index(fields=["commission", "key", "-id"], name="hand_layout_newest")]

    def __str__(self) -> str:
        return f"{self.commission.code}, {len(self.placements)}"


class CutList(models.Model):
    """What is cut for a job from which hide in which order; the newest of a job counts."""

    commission = models.ForeignKey(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="cut_lists"
    )
    # What was asked of the layout, as INSTANCE.json holds it: the pieces' outlines and the gap.
    instance = models.JSONField()
    style = models.CharField(_("style"), max_length=120)
    pair_count = models.PositiveSmallIntegerField(_("pairs"))
    # The foot the pieces are drawn for; a mirrored copy is for the other one.
    drawn_foot = models.CharField(max_length=5)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("cut list")
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.commission.code}, {timezone.localtime(self.made_at).date().isoformat()}"


class CutLine(models.Model):
    """One piece to cut: open, cut, or scrapped with its reason and a line that cuts it again."""

    class State(models.TextChoices):
        """How far it is."""

        OPEN = "open", _("to cut")
        CUT = "cut", _("cut")
        SCRAPPED = "scrapped", _("scrapped")

    class Reason(models.TextChoices):
        """Why a piece was thrown away."""

        SLIPPED = "slipped", _("the knife slipped")
        WRONG_SIDE = "wrong side", _("cut for the wrong foot")
        FLAW = "flaw", _("a flaw in the leather")
        STRETCHED = "stretched", _("stretched or torn in work")
        LOST = "lost", _("lost")
        OTHER = "other", _("another reason")

    cut_list = models.ForeignKey(CutList, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveIntegerField()
    piece = models.CharField(_("piece"), max_length=120)
    mirrored = models.BooleanField(default=False)
    # "left", "right", or empty where either foot takes it.
    foot_side = models.CharField(max_length=5, blank=True)
    number = models.PositiveSmallIntegerField(default=1)
    of = models.PositiveSmallIntegerField(default=1)
    material = models.CharField(max_length=10)
    hide = models.ForeignKey(
        Hide, null=True, blank=True, on_delete=models.PROTECT, related_name="cut_lines"
    )
    # Where it lies, as LAYOUT.json holds it; empty while it has no place, or needs none.
    placement = models.JSONField(default=dict, blank=True)
    area_mm2 = models.DecimalField(_("area (mm²)"), max_digits=12, decimal_places=1)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    reason = models.CharField(_("reason"), max_length=10, choices=Reason.choices, blank=True)
    reason_note = models.CharField(_("in words"), max_length=200, blank=True)
    recut_of = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="recut"
    )
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    done_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("piece to cut")
        ordering = ["cut_list_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["cut_list", "position"], name="cut_line_numbered_once"),
            models.CheckConstraint(
                condition=~models.Q(state="scrapped") | ~models.Q(reason=""),
                name="scrapped_with_a_reason",
                violation_error_message=_("Say why the piece is thrown away."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.cut_list.commission.code} {self.piece} {self.foot_side}".strip()

    @property
    def needs_a_place(self) -> bool:
        """Return whether it is to be cut from a hide on which it has no place yet."""
        return self.material == "upper" and self.state == self.State.OPEN and not self.placement
