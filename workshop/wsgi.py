"""The web server's way in."""

import gc
import importlib
import os
import threading

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
application = get_wsgi_application()


def _warm_up() -> None:
    """Load what the first page and the first paper need, while nobody waits for it."""
    for name in ("workshop.urls", "weasyprint", "ezdxf"):
        importlib.import_module(name)
    # What is loaded once is left out of every later search for rubbish: a page with large
    # drawings is made in a third of the time.
    gc.collect()
    gc.freeze()


threading.Thread(target=_warm_up, name="warm-up", daemon=True).start()
