"""Load the invented demo workshop into an empty installation."""

from django.core.management.base import BaseCommand, CommandError

from workshop.models import Customer
from workshop.services.demo import demo_load


class Command(BaseCommand):
    """The demo, once."""

    help = "Load the invented demo workshop into an empty installation."

    def handle(self, *args: object, **options: object) -> None:
        """Refuse to mix the demo with real records."""
        if Customer.objects.exists():
            raise CommandError("there are customers already; the demo goes into an empty workshop")
        demo_load()
