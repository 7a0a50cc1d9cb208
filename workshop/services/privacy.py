"""A customer's data given out as a file, and erased; the figures of the workshop stay."""

import io
import json
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib.admin.models import LogEntry
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.contenttypes.models import ContentType
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop import mesh_files, paper_work, photo_files
from workshop.kept_files import file_content, file_path
from workshop.models import (
    AuditEntry,
    BackgroundJob,
    Bill,
    BillLine,
    Commission,
    Customer,
    Doll,
    FootVersion,
    Hide,
    JobPhoto,
    Kept,
    MeasuringLink,
    Quote,
)
from workshop.privacy_map import ERASED, HELD
from workshop.services.records import SECRET_FIELDS, audit_write, fields_of, plain
from workshop.strict_json import write_json
from workshop.work import ORDER_PAPERS, SHEETS, SIZE_RUN

OVER = (Commission.State.SENT, Commission.State.DECLINED, Commission.State.WITHDRAWN)
NAMES = ("name", "email", "phone", "address")  # what is looked for in other words
SHORTEST_NAME = 3  # shorter ones stand in too many other words


@dataclass(frozen=True, slots=True)
class Choice:
    """What the owner chooses on erasing."""

    photographs: bool
    meshes: bool
    bills: bool


# --- given out ------------------------------------------------------------------------------


def customer_export(customer: Customer, *, by: AbstractBaseUser) -> bytes:
    """Return a ZIP with all that is stored about a customer, and note that it was given out."""
    document: dict[str, Any] = {"made_at": timezone.now().isoformat(), "customer": customer.code}
    document["records"] = {
        held.model._meta.model_name: [_row(record) for record in held.rows(customer).iterator(100)]
        for held in HELD
    }
    document["trail"] = [
        {**_row(entry), "who_text": "" if entry.who_id else entry.who_text}
        for entry in _trail_of(customer)
    ]
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("customer.json", write_json(document))
        for folder, ending, digest in sorted(_files_of(customer)):
            content = file_content(folder, ending, digest)
            if content is not None:
                archive.writestr(f"{folder}/{digest}{ending}", content)
    audit_write(customer, by=by, action="given out")
    return stream.getvalue()


def _row(record: models.Model) -> dict[str, Any]:
    """Return a record as JSON can hold it, without secrets and without the large drawings."""
    left_out = SECRET_FIELDS | {"drawings", "form_key", "start_key"}
    return {
        field.attname: plain(getattr(record, field.attname))
        for field in record._meta.concrete_fields
        if field.attname not in left_out
    }


def _files_of(customer: Customer) -> set[tuple[str, str, str]]:
    photographs = JobPhoto.objects.filter(commission__customer=customer)
    feet = FootVersion.objects.filter(doll__customer=customer).exclude(mesh={})
    return {
        (photo_files.FOLDER, photo_files.ENDING, digest)
        for digest in photographs.values_list("sha256", flat=True)
    } | {(mesh_files.FOLDER, mesh_files.ENDING, foot.mesh["sha256"]) for foot in feet}


def _trail_of(customer: Customer) -> Iterable[AuditEntry]:
    for held in HELD:
        keys = list(held.rows(customer).values_list("pk", flat=True))
        kind = held.model._meta.model_name
        yield from AuditEntry.objects.filter(record_kind=kind, record_id__in=keys)


# --- erased ---------------------------------------------------------------------------------


@transaction.atomic
def customer_erase(customer: Customer, *, choice: Choice, by: AbstractBaseUser) -> None:
    """Erase what is stored about a customer; amounts, measures and the steps of work stay.

    Raises
    ------
    ValidationError
        An order is not over yet, goods are in keeping, or the customer is erased already.
    """
    customer = Customer.objects.select_for_update().get(pk=customer.pk)
    _refuse_if_in_hand(customer)
    names = _names_of(customer)
    files = _files_of(customer)
    _end_links(customer)
    _drop_background_work(customer, names)
    trail = _trail_kept_apart(customer)
    for held in HELD:
        _clear(held.rows(customer), held.cleared)
        _scrub_rows(held.rows(customer), held.scrubbed, names)
    _clear_answers(customer)
    if choice.bills:
        _clear_bills(customer, names)
    if choice.photographs:
        JobPhoto.objects.filter(commission__customer=customer)._raw_delete("default")
    if choice.meshes:
        FootVersion.objects.filter(doll__customer=customer).update(mesh={})
    _clear_trail(trail, names)
    Customer.objects.filter(pk=customer.pk).update(erased_at=timezone.now())
    customer.refresh_from_db()
    audit_write(customer, by=by, action="erased", before=fields_of(customer))
    gone = {file for file in files if not _is_used(*file)}
    transaction.on_commit(lambda: _delete_files(gone))


def in_hand(customer: Customer) -> list[str]:
    """Return what keeps a customer from being erased: orders not over, goods in keeping."""
    jobs = Commission.objects.filter(customer=customer).exclude(state__in=OVER)
    kept = Kept.objects.filter(commission__customer=customer, sent_back_on=None)
    return [job.code for job in jobs] + [
        _("goods in keeping for %(job)s") % {"job": goods.commission.code}
        for goods in kept.select_related("commission")
    ]


def _refuse_if_in_hand(customer: Customer) -> None:
    if customer.erased_at is not None:
        raise ValidationError(_("This customer is erased already."), code="erased")
    open_ones = in_hand(customer)
    if open_ones:
        raise ValidationError(
            _("Not everything is over yet: %(what)s. Send it, withdraw it or give it back first.")
            % {"what": ", ".join(open_ones[:10])},
            code="in_hand",
        )


def _names_of(customer: Customer) -> list[str]:
    """Return every name and address the customer and the dolls ever had, the longest first."""
    found: set[str] = set()
    for model, rows in (
        (Customer, Customer.objects.filter(pk=customer.pk)),
        (Doll, Doll.objects.filter(customer=customer)),
    ):
        columns = [name for name in NAMES if hasattr(model, name)]
        for values in rows.values(*columns):
            found.update(map(str, values.values()))
        entries = AuditEntry.objects.filter(
            record_kind=model._meta.model_name, record_id__in=rows.values("pk")
        )
        for entry in entries:
            for side in (entry.before, entry.after):
                found.update(str(side[name]) for name in columns if side.get(name))
    lines = {line.strip() for text in found for line in (text, *text.splitlines())}
    return sorted((name for name in lines if len(name) >= SHORTEST_NAME), key=len, reverse=True)


def _end_links(customer: Customer) -> None:
    now = timezone.now()
    Quote.objects.filter(commission__customer=customer, link_revoked_at=None).update(
        link_revoked_at=now
    )
    MeasuringLink.objects.filter(doll__customer=customer, state=MeasuringLink.State.OPEN).update(
        state=MeasuringLink.State.CLOSED
    )


def _clear(rows: models.QuerySet[Any], cleared: Mapping[str, Any]) -> None:
    """Write over what is filled in; an empty field stays empty."""
    for column, value in cleared.items():
        field = rows.model._meta.get_field(column)
        filled = rows.exclude(**{column: None}) if field.null else rows.exclude(**{column: ""})
        filled.update(**{column: value})


def _scrub_rows(rows: models.QuerySet[Any], columns: Iterable[str], names: list[str]) -> None:
    for column in columns:
        for key, text in rows.values_list("pk", column):
            clean = _scrubbed(text, names)
            if clean != text:
                rows.model._base_manager.filter(pk=key).update(**{column: clean})


def _scrubbed(value: Any, names: list[str]) -> Any:
    """Return a value with every name in its words taken out."""
    if isinstance(value, str):
        for name in names:
            value = value.replace(name, ERASED)
        return value
    if isinstance(value, dict):
        return {key: _scrubbed(inner, names) for key, inner in value.items()}
    if isinstance(value, list):
        return [_scrubbed(inner, names) for inner in value]
    return value


def _clear_answers(customer: Customer) -> None:
    for link in MeasuringLink.objects.filter(doll__customer=customer).exclude(answer={}):
        answer = {key: value for key, value in link.answer.items() if key != "note"}
        MeasuringLink.objects.filter(pk=link.pk).update(answer=answer)


def _clear_bills(customer: Customer, names: list[str]) -> None:
    """Take the person off bills; lines, amounts, tax and numbers stay as they were issued."""
    for bill in Bill.objects.filter(commission__customer=customer):
        nobody = {"name": ERASED, "address": "", "country": bill.content["customer"]["country"]}
        content = {**_scrubbed({**bill.content, "note": ""}, names), "customer": nobody}
        content["workshop"] = bill.content["workshop"]
        reason = _scrubbed(bill.reason, names)
        Bill.objects.filter(pk=bill.pk).update(content=content, reason=reason)
    lines = BillLine.objects.filter(bill__commission__customer=customer)
    _scrub_rows(lines, ("text", "reason"), names)


def _drop_background_work(customer: Customer, names: list[str]) -> None:
    """Drop papers and comparisons made in the background; their words hold the doll's name."""
    jobs = set(Commission.objects.filter(customer=customer).values_list("pk", flat=True))
    quotes = set(Quote.objects.filter(commission__in=jobs).values_list("pk", flat=True))
    for work in BackgroundJob.objects.filter(kind__in=(ORDER_PAPERS, SHEETS, SIZE_RUN)):
        inputs = work.inputs
        concerns = inputs.get("job") in jobs or quotes & set(inputs.get("quotes", ()))
        if not concerns and work.kind == SIZE_RUN:
            words = json.dumps([inputs, work.result], ensure_ascii=False)
            concerns = any(json.dumps(name, ensure_ascii=False)[1:-1] in words for name in names)
        if concerns:
            digest = (work.result or {}).get("file", "")
            if digest:
                ending = paper_work.ZIP if work.kind == ORDER_PAPERS else paper_work.PDF
                gone = {(paper_work.FOLDER, ending, digest)}
                transaction.on_commit(lambda files=gone: _delete_files(files))
            work.delete()


Trail = list[tuple[type[models.Model], frozenset[str], list[int]]]


def _trail_kept_apart(customer: Customer) -> Trail:
    """Return whose rows on the trail are meant, before any of the records is gone."""
    return [
        (
            held.model,
            frozenset(held.cleared).union(held.off_trail),
            list(held.rows(customer).values_list("pk", flat=True)),
        )
        for held in HELD
    ]


def _clear_trail(trail: Trail, names: list[str]) -> None:
    """Take the person off the trail and off the back door's own list of changes."""
    for model, columns, keys in trail:
        kind = model._meta.model_name
        there = model._base_manager.in_bulk(keys)
        entries = AuditEntry.objects.filter(record_kind=kind, record_id__in=keys)
        for entry in entries.iterator(200):
            record = there.get(entry.record_id)
            text = f"{kind} {ERASED}" if record is None else _scrubbed(str(record), names)
            AuditEntry.objects.filter(pk=entry.pk).update(
                record_text=text[:200],
                before=_side(entry.before, columns, names),
                after=_side(entry.after, columns, names),
            )
        content_type = ContentType.objects.get_for_model(model)
        LogEntry.objects.filter(content_type=content_type, object_id__in=map(str, keys)).update(
            object_repr=f"{kind} {ERASED}", change_message=""
        )


def _side(values: Mapping[str, Any], columns: frozenset[str], names: list[str]) -> dict[str, Any]:
    return {
        name: (ERASED if value else value) if name in columns else _scrubbed(value, names)
        for name, value in values.items()
    }


def _is_used(folder: str, _ending: str, digest: str) -> bool:
    """Return whether another record still names a kept file; equal pictures are one file."""
    if folder == mesh_files.FOLDER:
        return FootVersion.objects.filter(mesh__sha256=digest).exists()
    if JobPhoto.objects.filter(sha256=digest).exists():
        return True
    return Hide.objects.filter(photograph__sha256=digest).exists()


def _delete_files(files: Iterable[tuple[str, str, str]]) -> None:
    for folder, ending, digest in files:
        file_path(folder, ending, digest).unlink(missing_ok=True)
