"""A language made up for tests: every text that can be translated stands between two marks.

What a page shows outside the marks did not come through gettext. The texts are gathered as
`makemessages` would, from templates and Python sources, but without the programs it calls.
"""

import io
import re
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[1]
LANGUAGE, LOCALE = "en-xm", "en_XM"  # a region that no country has
OPENS, CLOSES = "⟦", "⟧"
KEYWORDS = {
    "_": None,
    "gettext": None,
    "gettext_lazy": None,
    "gettext_noop": None,
    "ngettext": (1, 2),
    "ngettext_lazy": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
}
ENDS = re.compile(r"^(\s*)(.*?)(\s*)$", re.DOTALL)


def marked(text):
    """Return a text between marks; spaces at its ends stay outside, as in every translation."""
    before, middle, after = ENDS.match(text).groups()
    return f"{before}{OPENS}{middle}{CLOSES}{after}" if middle else text


def sources():
    """Give every template and Python source with texts in it, and of Django's what forms say."""
    import django

    yield from sorted((ROOT / "templates").rglob("*.html"))
    yield ROOT / "costing" / "how.py"
    for path in sorted((ROOT / "workshop").rglob("*.py")):
        if "migrations" not in path.parts:
            yield path
    theirs = Path(django.__file__).parent
    for folder in ("forms", "db/models/fields", "contrib/auth", "core", "utils"):
        yield from sorted((theirs / folder).rglob("*.py"))


def texts_of(path):
    """Return the (context, one, many) of a source; `many` is None where there is no plural."""
    source = path.read_text(encoding="utf-8")
    if path.suffix == ".html":
        source = templatize(source, origin=str(path))
    found = []
    for _line, message, _comments, context in extract(
        "python", io.BytesIO(source.encode()), keywords=KEYWORDS
    ):
        one, many = message if isinstance(message, tuple) else (message, None)
        if one:
            found.append((context, one, many))
    return found


def texts_of_the_cores():
    """Give what pages hand to gettext as it stands in the cores: words of measures and styles."""
    from patterns.foot import MEASURES
    from patterns.style import load_style, style_names

    for measure in MEASURES:
        yield from (measure.label, measure.help_text)
    for name in style_names():
        style = load_style(name)
        yield from (style.label, style.description)
        yield from (curve.label for curve in style.curves)
        for parameter in style.parameters:
            yield from (parameter.label, parameter.help_text)


def write_language(folder):
    """Write the catalogue into a folder for LOCALE_PATHS; return how many texts it holds."""
    catalogue = Catalog(locale="en")
    plurals = dict.fromkeys((None, text) for text in texts_of_the_cores() if text)
    for path in sources():
        for context, one, many in texts_of(path):
            plurals.setdefault((context, one), many)
            plurals[context, one] = plurals[context, one] or many
    for (context, one), many in plurals.items():
        if many is None:
            catalogue.add(one, marked(one), context=context)
        else:
            catalogue.add((one, many), (marked(one), marked(many)), context=context)
    target = folder / LOCALE / "LC_MESSAGES"
    target.mkdir(parents=True)
    with (target / "django.mo").open("wb") as file:
        write_mo(file, catalogue)
    return len(plurals)
