"""Addresses that are needed where loading every page would cost a second."""

import ipaddress

FIRST_LOGIN = "first-login/"


def first_login_path(token: str) -> str:
    """Return the path of a one-time login link.

    >>> first_login_path("abc")
    '/first-login/abc/'
    """
    return f"/{FIRST_LOGIN}{token}/"


def reaches_customers(host: str) -> bool:
    """Return whether a customer elsewhere can open an address of this host.

    >>> reaches_customers("boots.example:8443"), reaches_customers("127.0.0.1:8000")
    (True, False)
    >>> reaches_customers("192.168.1.20"), reaches_customers("bench.local")
    (False, False)
    """
    name = host.rsplit(":", 1)[0] if host.count(":") == 1 or host.startswith("[") else host
    name = name.strip("[]").rstrip(".").lower()
    try:
        return ipaddress.ip_address(name).is_global
    except ValueError:
        return not (name == "localhost" or name.endswith((".localhost", ".local", ".lan")))
