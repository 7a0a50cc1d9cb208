"""Switch the second step off for an owner who lost the phone and the recovery codes."""

import argparse

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from workshop.services.second_factor import factor_off


class Command(BaseCommand):
    """``manage.py second_factor_off NAME``."""

    help = "Switch the second step of logging in off for a login whose phone is lost."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take the login's name."""
        parser.add_argument("name", metavar="NAME")

    def handle(self, *args: object, **options: object) -> None:
        """Find the login and switch it off."""
        name = str(options["name"])
        user = get_user_model().objects.filter(username__iexact=name).first()
        if user is None:
            raise CommandError(f"There is no login {name[:60]!r}.", returncode=2)
        if not factor_off(user, by=None):
            raise CommandError(f"The second step of {name[:60]!r} is not on.", returncode=2)
        self.stdout.write(f"== {user.get_username()} logs in with the password alone again")
