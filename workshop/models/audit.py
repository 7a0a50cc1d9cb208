"""The trail of changes: who, when, before, after."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from workshop.models.numbers import Unchanging


class AuditEntry(Unchanging):
    """One change of one record."""

    at = models.DateTimeField(default=timezone.now, db_index=True)
    who = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    who_text = models.CharField(max_length=150)
    action = models.CharField(max_length=40)
    record_kind = models.CharField(max_length=40)
    record_id = models.BigIntegerField(null=True)
    record_text = models.CharField(max_length=200)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["record_kind", "record_id"])]

    @property
    def changes(self) -> list[tuple[str, object, object]]:
        """Return what differs: the field in words, before, after."""
        names = [*self.after, *(name for name in self.before if name not in self.after)]
        return [
            (
                name.removesuffix("_id").replace("_", " "),
                self.before.get(name),
                self.after.get(name),
            )
            for name in names
            if self.before.get(name) != self.after.get(name)
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.who_text}: {self.action} {self.record_text}"
