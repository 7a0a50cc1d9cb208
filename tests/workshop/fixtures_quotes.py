"""A job ready to be quoted, and a quote; every person and figure is invented."""

import json
from dataclasses import replace
from unittest import mock

import pytest

from tests.shared import shared


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


def lay_out_now(choice, owner, *, seconds=None):
    """Start the layout of a choice and do the worker's part here and now.

    The same pieces are laid on the same hide once in a run, unless it is said for how long.
    """
    from workshop.services.quoting import layout_start, work_out
    from workshop.work import KINDS, run

    def laid_once(inputs, report, is_stopped):
        key = json.dumps(inputs, sort_keys=True)
        return shared("layout", key, lambda: laid_afresh(inputs, report, is_stopped))

    laid_afresh = KINDS["layout"]
    work = layout_start(work_out(choice), by=owner, seconds=seconds or 1)
    with mock.patch.dict(KINDS, {} if seconds else {"layout": laid_once}):
        run(work.pk)
    work.refresh_from_db()
    return work


def with_options(choice, **options):
    """Return the choice with other options of the style."""
    return replace(choice, options={name: str(value) for name, value in options.items()})
