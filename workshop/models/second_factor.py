"""The second factor of a login: codes of a phone, and recovery codes for when it is lost."""

from django.conf import settings
from django.db import models
from django.utils import timezone


class SecondFactor(models.Model):
    """Codes that a login asks for after the password, once they are confirmed.

    The secret stands nowhere: it is worked out from the installation's secret key and the salt.
    """

    NOT_ON_TRAIL = ("salt",)

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="second_factor"
    )
    salt = models.CharField(max_length=43)
    made_at = models.DateTimeField(default=timezone.now)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    # The last step of time whose code was taken: a code works once.
    last_step = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"second factor of {self.user.get_username()}"


class RecoveryCode(models.Model):
    """A code that stands in for the phone, once; only its hash is kept."""

    factor = models.ForeignKey(SecondFactor, on_delete=models.CASCADE, related_name="codes")
    code_hash = models.CharField(max_length=64)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["factor", "code_hash"], name="recovery_code_once")
        ]

    def __str__(self) -> str:
        return f"recovery code {self.pk}"
