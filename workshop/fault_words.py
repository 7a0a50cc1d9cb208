"""The words for what can be wrong with a file; codes come from `workshop.faults`."""

from typing import Any

from django.utils.translation import gettext_lazy as _

WORDS = {
    "large": _("The file is larger than %(most)s MB; split it or leave out what is not needed."),
    "kind": _("The file “%(name)s” is no .csv or .json file; save it as one of the two."),
    "slow": _("The file took more than %(seconds)s seconds to read and was left; split it."),
    "unreadable": _("The file could not be read; save it again from the program that made it."),
    "empty": _("The file is empty."),
    "encoding": _("The text is not UTF-8; save the file as UTF-8."),
    "nul": _("A NUL byte stands in the text: this is no text file. Save it as CSV or JSON."),
    "csv": _("The table cannot be read on from here: %(said)s."),
    "json": _("The file is no JSON that can be read: %(said)s."),
    "header": _("The first line must name the columns; “record” and “code” are always needed."),
    "column-unknown": _("No such column: %(columns)s. Rename or remove it."),
    "column-twice": _("A column stands twice: %(columns)s. Remove one."),
    "column-misplaced": _("A %(record)s has no %(columns)s; leave that empty."),
    "cells-many": _("%(cells)s cells stand under %(columns)s columns; look for a stray comma."),
    "record-unknown": _("“%(record)s” is no record; write customer, doll or foot."),
    "rows-many": _("More than %(most)s records; split the file."),
    "no-rows": _("There is no record in the file."),
    "cell": _("%(column)s cannot be read; write it as an exported file does."),
    "json-format": _("This is no library file: format must be “%(format)s”, version %(version)s."),
    "json-unit": _("Lengths must be in mm."),
    "json-list": _("“%(name)s” must be a list of records."),
    "json-entry": _("This entry is no record; write { ... }."),
    "tracing-header": _("The columns must be x and y, or x and z, or line, x, y."),
    "tracing": _("%(said)s"),
    "mesh": _("%(said)s"),
    "mesh-kind": _(
        "The file “%(name)s” is no .obj, .stl or .ply file; save the mesh as one of the three."
    ),
    "photo": _("This is no photograph that can be read; save it as JPEG, PNG or WebP."),
    "photo-size": _(
        "The photograph is %(size)s pixels; at least %(least)s each way and at most %(most)s"
        " million in all can be used."
    ),
    "outline": _("%(said)s"),
    "outline-kind": _(
        "The file “%(name)s” is no .csv, .json, .svg or .dxf file; save it as one of these."
    ),
    "mesh-axes": _("Toes along %(toes)s and up along %(up)s do not go together; choose again."),
    "mesh-lost": _("The mesh %(name)s is not in the data folder; bring its file along first."),
    "code": _("“%(code)s” is no code of a %(record)s; write one such as %(example)s."),
    "code-twice": _("%(code)s stands twice in this file, first on %(first)s; remove one."),
    "customer-unknown": _("There is no customer %(code)s; add the customer, or leave it empty."),
    "doll-unknown": _("There is no doll %(code)s; add the doll to the file."),
    "version": _("The version must be a whole number from 1."),
    "version-gap": _("Version %(version)s cannot follow version %(last)s; versions count up by 1."),
    "foot-differs": _(
        "%(code)s %(side)s %(version)s is stored with other values (%(columns)s); a foot is never "
        "overwritten. Give the new measures the next version."
    ),
    "value": _("%(column)s: %(said)s"),
    "foot": _("%(said)s"),
    "side": _("“%(side)s” is no foot; write left or right."),
    "changed-meanwhile": _("Somebody changed the library meanwhile; look at the file again."),
    "more": _("There are more faults; mend these first."),
}
WHERE = {
    "line": _("Line %(number)s"),
    "customers": _("Customers, entry %(number)s"),
    "dolls": _("Dolls, entry %(number)s"),
    "feet": _("Feet, entry %(number)s"),
}


def fault_text(found: dict[str, Any]) -> str:
    """Return one fault as a sentence that begins with where it is."""
    figures = dict(found["figures"])
    if "first" in figures:
        figures["first"] = where_text(figures["first"])
    said = str(WORDS[found["code"]]) % figures
    return f"{where_text(found['where'])}: {said}" if found["where"] else said


def where_text(where: list[Any] | tuple[str, int]) -> str:
    """Return a place in a file in words."""
    return str(WHERE[where[0]]) % {"number": where[1]}
