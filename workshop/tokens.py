"""Links that open one thing without a login.

A token has 256 bits. Only its sha256 is stored, for finding the record again. The owner can be
shown a link anew because the token is worked out from the installation's secret key, the record
and a serial number; it stands nowhere in the database. Revoking raises the serial.
"""

import base64
import hashlib
import hmac
import secrets

from django.conf import settings


def random_token() -> str:
    """Return a fresh token of 256 random bits."""
    return secrets.token_urlsafe(32)


def derived_token(purpose: str, record_id: int, serial: int) -> str:
    """Return the token of one record's link; the same arguments give the same token."""
    message = f"{purpose}:{record_id}:{serial}".encode()
    digest = hmac.new(settings.SECRET_KEY.encode(), message, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode("ascii")


def token_hash(token: str) -> str:
    """Return what is stored of a token."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
