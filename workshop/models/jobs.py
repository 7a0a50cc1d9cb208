"""Long work handed to the background worker."""

import datetime

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

LONG_WAIT = datetime.timedelta(seconds=40)  # four layouts before it, at ten seconds each
LONG_DRAFTS = datetime.timedelta(seconds=100)  # work that drafts pieces over and over
LAYOUT = "layout"


class BackgroundJob(models.Model):
    """One piece of long work: its state, progress, and the result, written once."""

    class State(models.TextChoices):
        """Where a job stands."""

        WAITING = "waiting", _("waiting")
        RUNNING = "running", _("running")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")
        STOPPED = "stopped", _("stopped")

    kind = models.CharField(max_length=20)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    # The sha256 of the canonical input and the engine's version: same key, same result.
    key = models.CharField(max_length=64, db_index=True)
    inputs = models.JSONField()
    result = models.JSONField(null=True)
    # What work done in pieces has finished so far: begun again, it goes on from there.
    so_far = models.JSONField(null=True)
    progress_percent = models.PositiveSmallIntegerField(default=0)
    progress_text = models.CharField(max_length=200, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    stop_asked = models.BooleanField(default=False)
    fault = models.CharField(max_length=1000, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True, blank=True)
    # Which watched queue does it; when that one is gone, so is whoever did it.
    watch = models.CharField(max_length=32, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    # When it was last put into the queue anew: of several that see it is lost, one does.
    handed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(progress_percent__lte=100), name="job_progress_at_most_100"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}: {self.state}"

    @property
    def is_over(self) -> bool:
        """Return whether nothing more will happen to it."""
        return self.state in (self.State.DONE, self.State.FAILED, self.State.STOPPED)

    @property
    def is_held_up(self) -> bool:
        """Return whether it waits or runs far longer than such work takes."""
        since = self.started_at or self.made_at
        wait = LONG_WAIT if self.kind == LAYOUT or self.started_at is None else LONG_DRAFTS
        return not self.is_over and timezone.now() - since > wait
