"""Which addresses a customer elsewhere can open."""

import pytest

from workshop.addresses import reaches_customers


@pytest.mark.parametrize(
    ("host", "reaches"),
    [
        ("boots.example", True),
        ("boots.example:8443", True),
        ("8.8.8.8", True),
        ("[2001:4860:4860::8888]:443", True),
        ("localhost:8000", False),
        ("127.0.0.1", False),
        ("192.168.1.20:8000", False),
        ("[::1]:8000", False),
        ("bench.local", False),
    ],
)
def test_an_address_of_this_network_reaches_no_customer(host, reaches):
    assert reaches_customers(host) is reaches
