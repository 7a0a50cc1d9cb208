"""A job with an accepted quote, and work written down for it; every figure is invented."""

from decimal import Decimal


def accept(quote, owner):
    """Accept a quote and return its job."""
    from workshop.models import Commission
    from workshop.services.quotes import quote_accept

    quote_accept(quote, by=owner, way="mail")
    return Commission.objects.get(pk=quote.commission_id)


def write_minutes(commission, step, minutes, by, **values):
    """Write a stretch down by hand and return it."""
    from workshop.models import WorkLog
    from workshop.services.work_log import work_write

    entry = WorkLog(commission=commission, step=step, minutes=Decimal(minutes), **values)
    work_write(entry, by=by)
    return entry


def finish(commission, by):
    """Move an accepted job on until it is finished."""
    from workshop.services.orders import commission_move

    for state in ("in work", "finished"):
        commission_move(commission, to=state, by=by)


def planned_of(quote):
    """Return the minutes a quote plans for each step of work."""
    from costing.counted import planned_minutes
    from costing.job_file import job_from_document

    job = job_from_document(quote.snapshot["job"])
    return {
        name: minutes for (name, passive), minutes in planned_minutes(job).items() if not passive
    }
