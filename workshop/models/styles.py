"""Styles of boots and shoes, and their frozen versions."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Numbered, Unchanging


class Style(Numbered):
    """A style the workshop offers; the file names the pattern it is drawn by."""

    code_letter = "S"
    name = models.CharField(_("name"), max_length=80, unique=True)
    file_name = models.CharField(_("pattern"), max_length=60)
    note = models.TextField(_("note"), max_length=2000, blank=True)
    is_offered = models.BooleanField(_("offered"), default=True)

    class Meta:
        verbose_name = _("style")
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class StyleVersion(Unchanging):
    """The values of a style's parameters as they were on one day, with the file's hash."""

    style = models.ForeignKey(Style, on_delete=models.PROTECT, related_name="versions")
    version = models.PositiveIntegerField(_("version"))
    file_hash = models.CharField(max_length=64)
    values = models.JSONField(_("values"), default=dict)
    reason = models.CharField(_("why"), max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("style version")
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["style", "version"], name="style_version_is_numbered_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.style.name} {self.version}"
