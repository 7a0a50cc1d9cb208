"""Codes of the second step against the published vectors of RFC 6238.

Source: RFC 6238, Appendix B, the rows of SHA-1, secret "12345678901234567890"; the six digits our
codes have are the last six of the eight printed there (RFC 4226, 5.3: the number modulo 10^digits).
"""

import base64

import pytest
import time_machine

from workshop.models import SecondFactor
from workshop.services import second_factor

SECRET = base64.b32encode(b"12345678901234567890").decode()
VECTORS = [
    (59, "94287082"),
    (1111111109, "07081804"),
    (1111111111, "14050471"),
    (1234567890, "89005924"),
    (2000000000, "69279037"),
    (20000000000, "65353130"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("seconds", "printed"), VECTORS)
def test_the_published_codes_are_taken_once(owner, monkeypatch, seconds, printed):
    monkeypatch.setattr(second_factor, "secret_of", lambda factor: SECRET)
    factor = SecondFactor.objects.create(user=owner, salt="x", made_at="2026-01-01T00:00Z")
    monkeypatch.setattr(second_factor.time, "time", lambda: float(seconds))
    wrong = f"{(int(printed[-6:]) + 1) % 10**6:06d}"
    assert not second_factor.code_take(factor, wrong)
    assert second_factor.code_take(factor, printed[-6:])
    assert not second_factor.code_take(factor, printed[-6:])


def test_the_clock_of_the_phone_is_the_clock_of_the_vectors():
    with time_machine.travel(59, tick=False):
        assert int(second_factor.time.time() // second_factor.STEP_S) == 1
