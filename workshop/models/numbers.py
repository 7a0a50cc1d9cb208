"""Running numbers behind the short codes people see, such as D-0042."""

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _


class Counter(models.Model):
    """The last number given out for one kind of record."""

    kind = models.CharField(max_length=20, primary_key=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.kind}: {self.last}"


class Numbered(models.Model):
    """A record with a running number of its own; import and export use its code as key."""

    code_letter: ClassVar[str]
    number = models.PositiveIntegerField(_("number"), unique=True, editable=False)

    class Meta:
        abstract = True

    @property
    def code(self) -> str:
        """Return the short code people see."""
        return f"{self.code_letter}-{self.number:04d}"


class Unchanging(models.Model):
    """A record that is written once and never changed or deleted."""

    class Meta:
        abstract = True

    def save(self, *args: object, **kwargs: object) -> None:
        """Write a new record; refuse to write over an old one."""
        if not self._state.adding:
            raise ValidationError(
                _("%(record)s is kept as it was; make a new version instead."),
                params={"record": str(self)},
                code="unchanging",
            )
        super().save(*args, **kwargs)

    def delete(self, *args: object, **kwargs: object) -> tuple[int, dict[str, int]]:
        """Refuse: older papers still refer to it."""
        raise ValidationError(
            _("%(record)s is kept: older papers refer to it."),
            params={"record": str(self)},
            code="unchanging",
        )
