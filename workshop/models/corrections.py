"""What a mock-up or wear taught: millimetres at one line or girth, for one doll and style."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.library import Doll
from workshop.models.orders import Commission
from workshop.models.styles import Style

# More than this is no correction but another measure or another style.
CHANGE_MOST_MM = Decimal(20)


class Correction(models.Model):
    """One line or girth found short or long, and by how much; taken back, never deleted.

    `place` is the key the pattern core takes: ``girth:ankle_girth`` or ``curve:topline``. Above
    zero a girth becomes longer, and a line moves towards greater values of what it is drawn in.
    """

    FROZEN = ("doll_id", "style_id", "place", "change_mm", "reason", "commission_id", "made_at")

    doll = models.ForeignKey(
        Doll, verbose_name=_("doll"), on_delete=models.PROTECT, related_name="corrections"
    )
    style = models.ForeignKey(
        Style, verbose_name=_("style"), on_delete=models.PROTECT, related_name="corrections"
    )
    place = models.CharField(_("where"), max_length=80)
    change_mm = models.DecimalField(
        _("change (mm)"),
        max_digits=6,
        decimal_places=2,
        validators=[MinValueValidator(-CHANGE_MOST_MM), MaxValueValidator(CHANGE_MOST_MM)],
    )
    reason = models.CharField(_("why"), max_length=200)
    commission = models.ForeignKey(
        Commission,
        verbose_name=_("job"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="corrections",
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        editable=False,
        on_delete=models.SET_NULL,
        related_name="+",
    )

    class Meta:
        verbose_name = _("correction")
        ordering = ["-id"]
        indexes = [models.Index(fields=["doll", "style"])]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(change_mm=0),
                name="correction_changes_something",
                violation_error_message=_("A correction of 0 mm changes nothing."),
            ),
            models.CheckConstraint(
                condition=models.Q(place__startswith="girth:")
                | models.Q(place__startswith="curve:"),
                name="correction_is_of_a_girth_or_a_line",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place} {self.change_mm:+f} mm"

    def save(self, *args: object, **kwargs: object) -> None:
        """Write the correction; refuse to change what was noted, all but its taking back."""
        noted = getattr(self, "_noted", None)
        if noted is not None and any(self.__dict__.get(k) != v for k, v in noted.items()):
            raise ValueError("a correction stays as it was noted; take it back and note another")
        super().save(*args, **kwargs)

    @classmethod
    def from_db(cls, db, field_names, values):
        """Load a correction and remember what may not change."""
        correction = super().from_db(db, field_names, values)
        loaded = correction.__dict__
        correction._noted = {name: loaded[name] for name in cls.FROZEN if name in loaded}
        return correction
