"""Large library files taken in behind the page, so that no request waits for minutes."""

from typing import Any

from django.contrib.auth import get_user_model
from django.utils.translation import gettext as _

from patterns.errors import FileError
from workshop.fault_words import fault_text
from workshop.faults import FaultyFileError
from workshop.layout_work import IsStopped, Report, StoppedError
from workshop.services.library_import import library_take_in
from workshop.uploads import held, let_go, not_held_text

LIBRARY_IMPORT = "library import"
LIBRARY = "library"  # what a file is held for until somebody says yes
AT_ONCE_MOST = 1_000  # records; about a second


def run_library_import(
    inputs: dict[str, Any], report: Report, is_stopped: IsStopped
) -> dict[str, Any]:
    """Take a held file in, all of it or nothing, and return how many records are new or changed.

    Raises
    ------
    FileError
        The file is no longer held, or does not hold against the library as it is now.
    """
    rows = held(inputs["token"], purpose=LIBRARY, user_id=inputs["user"])
    if rows is None:
        raise FileError(not_held_text(), field="library_file", code="not_held")
    report(5, _("comparing with what is stored"))

    def on_storing() -> None:
        if is_stopped():
            raise StoppedError
        report(50, _("storing"))

    by = get_user_model().objects.filter(pk=inputs["user"]).first()
    try:
        plan = library_take_in(rows, by=by, on_storing=on_storing)
    except FaultyFileError as error:
        words = " ".join(fault_text(found) for found in error.faults)
        raise FileError(words, field="library_file", code="faulty") from None
    let_go(inputs["token"])
    new = sum(len(records) for records in plan.new.values())
    return {"new": new, "changed": len(plan.changed)}
