"""Styles on offer and their frozen versions."""

from collections.abc import Mapping

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from patterns.style import load_style
from workshop.models import Style, StyleVersion
from workshop.services.records import record_save, refuse_newer


@transaction.atomic
def style_make(style: Style, *, by: AbstractBaseUser | None) -> StyleVersion:
    """Save a new style with a first version that has the pattern's own values.

    Raises
    ------
    patterns.errors.StyleError
        There is no such pattern.
    django.core.exceptions.ValidationError
        A field does not hold, such as a name that is taken.
    """
    record_save(style, by=by)
    return style_version_make(style, values={}, reason=_("the pattern's own values"), by=by)


@transaction.atomic
def style_version_make(
    style: Style,
    *,
    values: Mapping[str, str | float | bool],
    reason: str,
    by: AbstractBaseUser | None,
    begun_from: int | None = None,
) -> StyleVersion:
    """Freeze values of a style's parameters, and its file's hash, as a new version.

    Parameters
    ----------
    style : Style
        A saved style.
    values : mapping
        What was chosen. A fixed default is stored with the rest; a default that follows the foot
        is left out, so that it goes on following it.
    reason : str
        Why there is a new version.
    begun_from : int, optional
        The version its maker began with, 0 for none.

    Raises
    ------
    patterns.errors.StyleError
        A value is out of its range, or the pattern is not there any more.
    django.core.exceptions.ValidationError
        There is a newer version than the one begun with.
    """
    pattern = load_style(style.file_name)
    # Held until the version is stored, so that two at once do not take the same number.
    Style.objects.select_for_update().get(pk=style.pk)
    newest = style.versions.aggregate(newest=Max("version"))["newest"] or 0
    refuse_newer(newest, begun_from)
    version = StyleVersion(
        style=style,
        version=newest + 1,
        file_hash=pattern.sha256,
        values=pattern.values(values),
        reason=reason,
        made_by=by,
    )
    record_save(version, by=by)
    return version
