"""How often somebody came in vain to a door, within a quarter of an hour."""

from django.db import models


class Knock(models.Model):
    """Tries of one kind by one asker within one window of time; ``key`` tells neither apart."""

    key = models.CharField(max_length=64)
    window = models.BigIntegerField(db_index=True)
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["key", "window"], name="one_knock_a_window")]

    def __str__(self) -> str:
        return f"{self.count} tries in window {self.window}"
