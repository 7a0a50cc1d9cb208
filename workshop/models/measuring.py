"""Links by which a customer measures a doll's foot without a login."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from patterns.foot import MEASURE_KEYS
from workshop.models.library import Doll, FootVersion


class MeasuringLink(models.Model):
    """One asking for a foot's measures, answered once.

    ``asks`` are the measures wanted, all if empty; ``before`` the link whose answer the others
    stand in. ``answer`` holds what was typed: ``foot_side``, ``first`` and ``second`` with the
    lengths as text by measure, ``note``, and ``sure`` where the customer insisted.
    """

    class State(models.TextChoices):
        """Where it stands."""

        OPEN = "open", _("waiting for measures")
        ANSWERED = "answered", _("to be looked at")
        KEPT = "kept", _("kept as a foot")
        CLOSED = "closed", _("closed")

    doll = models.ForeignKey(Doll, on_delete=models.PROTECT, related_name="measuring_links")
    before = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="later"
    )
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    asks = models.JSONField(default=list, blank=True)
    words = models.TextField(_("words to the customer"), max_length=1000, blank=True)
    valid_until = models.DateField(_("valid until"))
    token_hash = models.CharField(max_length=64, blank=True, db_index=True, editable=False)
    answer = models.JSONField(default=dict, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    kept_as = models.ForeignKey(
        FootVersion, null=True, blank=True, on_delete=models.PROTECT, related_name="sent_by"
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.doll.code} {self.get_state_display()}"

    @property
    def asked_keys(self) -> tuple[str, ...]:
        """Return the measures it asks for, in their usual order."""
        return tuple(key for key in MEASURE_KEYS if not self.asks or key in self.asks)
