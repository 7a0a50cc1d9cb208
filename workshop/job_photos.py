"""Photographs of a job: taken in through the one way for files, and kept by their content."""

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest
from django.utils.translation import gettext as _

from workshop.models import Commission, JobPhoto, Kept
from workshop.photo_files import photo_size_px, photo_take
from workshop.services.records import audit_write, record_save
from workshop.uploads import UploadError, upload_given

MOST_PHOTOS = 30  # of one job


def photo_given(request: HttpRequest, name: str = "photo_file") -> str | None:
    """Take in the photograph sent in a field and return its sha256, None when none was chosen.

    Raises
    ------
    ValidationError
        It is too large, or no photograph; named by the field.
    """
    try:
        upload = upload_given(request, name)
        return None if upload is None else photo_take(upload)
    except UploadError as error:
        raise ValidationError({name: error.messages}) from None


@transaction.atomic
def job_photo_add(
    commission: Commission,
    *,
    sha256: str,
    note: str = "",
    kept: Kept | None = None,
    by: AbstractBaseUser | None,
) -> JobPhoto:
    """Put a photograph that was taken in with a job, once.

    Raises
    ------
    ValidationError
        The job has as many as it may.
    """
    Commission.objects.select_for_update().get(pk=commission.pk)
    known = JobPhoto.objects.filter(commission=commission, kept=kept, sha256=sha256).first()
    if known is not None:
        return known
    if commission.photos.count() >= MOST_PHOTOS:
        raise ValidationError(
            {"photo_file": _("The job has %(n)d photographs already.") % {"n": MOST_PHOTOS}}
        )
    size = photo_size_px(sha256) or (0, 0)
    photo = JobPhoto(
        commission=commission,
        kept=kept,
        sha256=sha256,
        width_px=size[0],
        height_px=size[1],
        note=note[:160],
        made_by=by,
    )
    record_save(photo, by=by, action="photograph added")
    return photo


@transaction.atomic
def job_photo_remove(photo: JobPhoto, *, by: AbstractBaseUser | None) -> None:
    """Take a photograph off its job; the trail keeps which it was.

    Raises
    ------
    ValidationError
        It shows in which condition goods came, and stays as long as they are on record.
    """
    if photo.kept_id is not None:
        raise ValidationError(_("It shows in which condition the goods came, and stays."))
    audit_write(photo, by=by, action="photograph taken off")
    photo.delete()
