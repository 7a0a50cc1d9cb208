"""The second factor of owners: switched on by a code, asked after the password, switched off.

Codes are those of RFC 6238 with its own choices: SHA-1, six digits, thirty seconds. A code is taken
one step early or late, as clocks differ (RFC 6238, 5.2), and once only.
Source of what is asked for: OWASP ASVS 5.0, 6.5.1 (a code works once), 6.5.2 (hashed when stored).
"""

import base64
import hashlib
import hmac
import secrets
import time

import pyotp
import segno
from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.safestring import mark_safe

from workshop.models import Member, RecoveryCode, Role, SecondFactor
from workshop.services.records import audit_write
from workshop.tokens import random_token, token_hash

STEP_S = 30
STEPS_ASIDE = 1
RECOVERY_CODES = 10
RECOVERY_BYTES = 10  # 80 bits, sixteen letters


def factor_of(user: AbstractBaseUser) -> SecondFactor | None:
    """Return the second factor a login must pass, None where there is none or not yet."""
    return SecondFactor.objects.filter(user=user, confirmed_at__isnull=False).first()


def secret_of(factor: SecondFactor) -> str:
    """Return the secret shared with the phone, in base 32."""
    message = f"second factor:{factor.user_id}:{factor.salt}".encode()
    digest = hmac.new(settings.SECRET_KEY.encode(), message, hashlib.sha256).digest()
    return base64.b32encode(digest[:20]).decode("ascii")


def picture_of(factor: SecondFactor, *, issuer: str) -> str:
    """Return the code to scan as SVG: the secret under the login's and the workshop's name."""
    address = pyotp.TOTP(secret_of(factor)).provisioning_uri(
        name=factor.user.get_username(), issuer_name=issuer
    )
    # Ours from end to end: the names are in the pattern of the code, not in the markup.
    return mark_safe(segno.make(address, error="m").svg_inline(scale=5, light="#fff", border=3))


@transaction.atomic
def factor_begin(user: AbstractBaseUser) -> SecondFactor:
    """Return a factor that waits for its first code, with a secret of its own."""
    SecondFactor.objects.filter(user=user, confirmed_at=None).delete()
    factor, _made = SecondFactor.objects.get_or_create(user=user, defaults={"salt": random_token()})
    return factor


@transaction.atomic
def factor_confirm(factor: SecondFactor, code: str) -> list[str] | None:
    """Switch a factor on by a code of the phone; return the recovery codes, shown only now.

    None when the code is wrong, or the factor is on already.
    """
    if not code_take(factor, code):
        return None
    done = SecondFactor.objects.filter(pk=factor.pk, confirmed_at=None).update(
        confirmed_at=timezone.now()
    )
    if not done:
        return None
    codes = [_recovery_code() for _ in range(RECOVERY_CODES)]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(factor=factor, code_hash=token_hash(_bare(code))) for code in codes
    )
    audit_write(_member(factor.user), by=factor.user, action="second factor on")
    return codes


def code_take(factor: SecondFactor, code: str) -> bool:
    """Take a code of the phone, once; of two sent at the same time one is taken."""
    digits = code.replace(" ", "")
    if len(digits) != 6 or not (digits.isascii() and digits.isdigit()):
        return False
    totp = pyotp.TOTP(secret_of(factor))
    now = int(time.time() // STEP_S)
    for step in range(now - STEPS_ASIDE, now + STEPS_ASIDE + 1):
        if hmac.compare_digest(totp.generate_otp(step), digits):
            return bool(
                SecondFactor.objects.filter(pk=factor.pk, last_step__lt=step).update(last_step=step)
            )
    return False


@transaction.atomic
def recovery_take(factor: SecondFactor, code: str) -> bool:
    """Take a recovery code, once."""
    unused = RecoveryCode.objects.filter(
        factor=factor, code_hash=token_hash(_bare(code)), used_at=None
    )
    if not unused.update(used_at=timezone.now()):
        return False
    audit_write(_member(factor.user), by=factor.user, action="recovery code used")
    return True


def passes(factor: SecondFactor, code: str) -> bool:
    """Return whether what was typed is a code of the phone or a recovery code, and use it up."""
    return code_take(factor, code) or recovery_take(factor, code)


@transaction.atomic
def factor_off(user: AbstractBaseUser, *, by: AbstractBaseUser | None) -> bool:
    """Switch a login's second factor off; False where it was not on."""
    gone = SecondFactor.objects.filter(user=user, confirmed_at__isnull=False)
    if not gone.exists():
        return False
    gone.delete()
    audit_write(_member(user), by=by, action="second factor off")
    return True


def may_have_one(user: AbstractBaseUser) -> bool:
    """Return whether a login is an owner's."""
    return Member.objects.filter(user=user, role=Role.OWNER).exists()


def _member(user: AbstractBaseUser) -> Member:
    return Member.objects.get(user=user)


def _recovery_code() -> str:
    letters = base64.b32encode(secrets.token_bytes(RECOVERY_BYTES)).decode("ascii").lower()
    return "-".join(letters[start : start + 4] for start in range(0, len(letters), 4))


def _bare(code: str) -> str:
    return code.replace("-", "").replace(" ", "").lower()
