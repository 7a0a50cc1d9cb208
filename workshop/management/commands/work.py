"""Run the background worker: layouts and other long work."""

from django.core.management import call_command
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    """The queue's worker under the workshop's own name."""

    help = "Run the background worker until it is stopped."

    requires_system_checks = []

    def handle(self, *args: object, **options: object) -> None:
        """Hand over to the queue."""
        call_command("qcluster", verbosity=0)
