"""Print a one-time link by which a login gets another password, for whoever forgot it."""

import argparse
import os

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from workshop.addresses import first_login_path
from workshop.models import Member
from workshop.services.people import LINK_HOURS, password_link_make


class Command(BaseCommand):
    """``manage.py login_link NAME``."""

    help = "Print a one-time link that sets another password for a login."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take the login's name."""
        parser.add_argument("name", metavar="NAME")

    def handle(self, *args: object, **options: object) -> None:
        """Find the login and print its link."""
        name = str(options["name"])
        user = get_user_model().objects.filter(username__iexact=name).first()
        if user is None or not Member.objects.filter(user=user).exists():
            raise CommandError(f"There is no login {name[:60]!r}.", returncode=2)
        base = f"http://{os.environ.get('HOST', '127.0.0.1')}:{os.environ.get('PORT', '8000')}"
        address = f"{base}{first_login_path(password_link_make(user))}"
        self.stdout.write(f"== within {LINK_HOURS} hours, once: {address}")
