"""Addresses that are needed where loading every page would cost a second."""

FIRST_LOGIN = "first-login/"


def first_login_path(token: str) -> str:
    """Return the path of a one-time login link.

    >>> first_login_path("abc")
    '/first-login/abc/'
    """
    return f"/{FIRST_LOGIN}{token}/"
