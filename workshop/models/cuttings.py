"""Hides that were cut, and what was left of them until somebody has decided about it."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.orders import Commission
from workshop.models.stock import Hide


class Cutting(models.Model):
    """One hide cut by one layout: what was taken, and whether what is left was decided on."""

    hide = models.ForeignKey(
        Hide, verbose_name=_("hide"), on_delete=models.PROTECT, related_name="cuttings"
    )
    commission = models.ForeignKey(
        Commission,
        verbose_name=_("job"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="cuttings",
    )
    # The request and the layout that were cut, as their files hold them.
    instance = models.JSONField()
    layout = models.JSONField()
    pieces_area_mm2 = models.DecimalField(_("pieces (mm²)"), max_digits=12, decimal_places=1)
    least_width_mm = models.DecimalField(
        _("smallest useful width (mm)"), max_digits=6, decimal_places=1
    )
    least_area_mm2 = models.DecimalField(
        _("smallest useful area (mm²)"), max_digits=12, decimal_places=1
    )
    # What of the hide's cost stays with the pieces; known once what is left was decided on.
    used_cost = models.DecimalField(
        _("cost of what was used"),
        max_digits=12,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    settled_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("cutting")
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.hide.code}, {timezone.localtime(self.made_at).date().isoformat()}"

    @property
    def is_settled(self) -> bool:
        """Return whether it was decided what of the rest is kept."""
        return self.settled_at is not None


class LeftPiece(models.Model):
    """A piece of leather left after a cutting: proposed, then kept as a hide or binned."""

    class Fate(models.TextChoices):
        """What became of it."""

        PROPOSED = "proposed", _("not decided")
        KEPT = "kept", _("kept")
        BINNED = "binned", _("binned")

    cutting = models.ForeignKey(Cutting, on_delete=models.PROTECT, related_name="left_pieces")
    position = models.PositiveSmallIntegerField()
    # As of a hide, in the frame of the layout: tight way along x.
    outline = models.JSONField()
    defects = models.JSONField(default=list, blank=True)
    areas = models.JSONField(default=list, blank=True)
    area_mm2 = models.DecimalField(_("usable area (mm²)"), max_digits=12, decimal_places=1)
    fate = models.CharField(max_length=10, choices=Fate.choices, default=Fate.PROPOSED)
    hide = models.OneToOneField(
        Hide, null=True, blank=True, on_delete=models.PROTECT, related_name="left_from"
    )

    class Meta:
        ordering = ["cutting_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["cutting", "position"], name="left_piece_numbered_once")
        ]

    def __str__(self) -> str:
        return f"{self.cutting.hide.code} / {self.position}"
