"""A job ready to be quoted, and a quote; every person and figure is invented."""

from dataclasses import replace

import pytest


@pytest.fixture
def commission(foot_version, owner):
    from workshop.services.orders import commission_take_in

    return commission_take_in(
        customer=foot_version.doll.customer, doll=foot_version.doll, note="boots", by=owner
    )


@pytest.fixture
def choice(commission, foot_version, style_version, hide, supplies, rate_card):
    from workshop.services.quoting import Choice

    return Choice(
        commission=commission,
        foot=foot_version,
        style=style_version,
        hide=hide,
        pair_count=1,
    )


@pytest.fixture
def quote(choice, owner):
    from workshop.services.quoting import quote_make, work_out

    return quote_make(work_out(choice), by=owner)


def lay_out_now(choice, owner, *, seconds=1):
    """Start the layout of a choice and do the worker's part here and now."""
    from workshop.services.quoting import layout_start, work_out
    from workshop.work import run

    work = layout_start(work_out(choice), by=owner, seconds=seconds)
    run(work.pk)
    work.refresh_from_db()
    return work


def with_options(choice, **options):
    """Return the choice with other options of the style."""
    return replace(choice, options={name: str(value) for name, value in options.items()})
