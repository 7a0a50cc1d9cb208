"""Taking a library file in: first a plan of what would change, then all of it or nothing."""

from collections import Counter as Count
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from patterns.foot import MEASURE_KEYS
from workshop.faults import FAULTS_SHOWN, FaultyFileError, fault
from workshop.lengths import length_text, typed_length
from workshop.library_file import NUMBERS, Row
from workshop.mesh_files import mesh_is_here
from workshop.models import AuditEntry, Customer, Doll, FootVersion
from workshop.models.numbers import Numbered
from workshop.selectors.orders import number_in
from workshop.services.library import version_problems
from workshop.services.records import audit_row, claim_number, fields_of

BATCH = 500
TEXTS = {
    "customer": ("name", "email", "phone", "address", "country", "note"),
    "doll": ("name", "material", "skin_tone", "feet_kind", "note"),
}
FootKey = tuple[int, str, int]


@dataclass(frozen=True, slots=True)
class Change:
    """A stored record that a file would change: the record with the new values, and the old."""

    record: Numbered
    before: dict[str, Any]
    columns: tuple[str, ...]


@dataclass(slots=True)
class LibraryPlan:
    """What a file would do to the library; with faults it may do nothing."""

    new: dict[str, list[Any]] = field(
        default_factory=lambda: {"customer": [], "doll": [], "foot": []}
    )
    changed: list[Change] = field(default_factory=list)
    same: Count[str] = field(default_factory=Count)
    faults: list[dict[str, Any]] = field(default_factory=list)

    def counts(self) -> list[tuple[str, int, int, int]]:
        """Return kind, new, changed and same, a row for each kind."""
        changed = Count(change.record._meta.model_name for change in self.changed)
        return [
            (kind, len(records), changed[kind], self.same[kind])
            for kind, records in self.new.items()
        ]

    def faults_shown(self) -> list[dict[str, Any]]:
        """Return the first faults, and a last one saying so when there are more."""
        more = [fault("more")] if len(self.faults) > FAULTS_SHOWN else []
        return self.faults[:FAULTS_SHOWN] + more


def library_plan(rows: list[Row]) -> LibraryPlan:
    """Return what a file's rows would change, every fault with its line."""
    return _Planner(rows).plan


@transaction.atomic
def library_take_in(
    rows: list[Row], *, by: AbstractBaseUser, on_storing: Callable[[], None] = lambda: None
) -> LibraryPlan:
    """Store a file's rows, all or none, and return what was done.

    `on_storing` is called once, before anything is stored; what it raises leaves all as it was.

    Raises
    ------
    FaultyFileError
        A row does not hold against the library as it is now; nothing is stored.
    """
    plan = library_plan(rows)
    if plan.faults:
        raise FaultyFileError(plan.faults_shown())
    on_storing()
    try:
        with transaction.atomic():
            _store(plan, by)
    except IntegrityError:
        # Somebody added the same code between the plan and the writing.
        raise FaultyFileError([fault("changed-meanwhile")]) from None
    return plan


def _store(plan: LibraryPlan, by: AbstractBaseUser) -> None:
    audits: list[AuditEntry] = []
    for records in plan.new.values():
        for record in records:
            if isinstance(record, FootVersion):
                record.made_by = by
        if records:
            type(records[0]).objects.bulk_create(records, batch_size=BATCH)
        audits += [audit_row(record, by=by, action="imported") for record in records]
        if records and isinstance(records[0], Numbered):
            claim_number(records[0].code_letter, max(record.number for record in records))
    for model in (Customer, Doll):
        changes = [change for change in plan.changed if isinstance(change.record, model)]
        names = sorted({name for change in changes for name in change.columns})
        if changes:
            model.objects.bulk_update([c.record for c in changes], names, batch_size=BATCH)
        audits += [audit_row(c.record, by=by, action="imported", before=c.before) for c in changes]
    AuditEntry.objects.bulk_create(audits, batch_size=BATCH)


class _Planner:
    """Works a plan out, kind by kind: dolls need their customers, feet their dolls."""

    def __init__(self, rows: list[Row]) -> None:
        self.plan = LibraryPlan()
        by_kind: dict[str, list[Row]] = {"customer": [], "doll": [], "foot": []}
        for row in rows:
            by_kind[row["record"]].append(row)
        self.customers = self._stored(
            Customer, _numbers(by_kind["customer"], "code") | _numbers(by_kind["doll"], "customer")
        )
        self.dolls = self._stored(
            Doll, _numbers(by_kind["doll"], "code") | _numbers(by_kind["foot"], "code")
        )
        self._plan_numbered("customer", Customer, self.customers, by_kind["customer"])
        self._plan_numbered("doll", Doll, self.dolls, by_kind["doll"])
        self._plan_feet(by_kind["foot"])
        # Feet are planned in the order of their versions; people read a file from the top.
        self.plan.faults.sort(key=lambda found: tuple(found["where"]))

    @staticmethod
    def _stored(model: type[Any], numbers: Iterable[int]) -> dict[int, Any]:
        found: dict[int, Any] = {}
        for some in _batches(sorted(numbers)):
            found |= {record.number: record for record in model.objects.filter(number__in=some)}
        return found

    def _fault(self, problem: str, row: Row, /, **figures: object) -> None:
        self.plan.faults.append(fault(problem, tuple(row["where"]), **figures))

    def _plan_numbered(
        self, kind: str, model: type[Any], stored: dict[int, Any], rows: list[Row]
    ) -> None:
        first: dict[int, Row] = {}
        for row in rows:
            number = self._code_of(row, model)
            if number is None or not self._first_time(number, row, first):
                continue
            record, is_new = stored.get(number), number not in stored
            before = {} if is_new else fields_of(record)
            if is_new:
                record = model(number=number)
            columns = [name for name in TEXTS[kind] if self._set(record, name, row)]
            if kind == "doll" and self._set_customer(record, row):
                columns.append("customer")
            stored[number] = record
            if not self._sound(record, row, ("customer",)):
                continue
            if is_new:
                self._set_made_at(record, row)
                self.plan.new[kind].append(record)
            elif columns:
                self.plan.changed.append(Change(record, before, tuple(columns)))
            else:
                self.plan.same[kind] += 1

    def _code_of(self, row: Row, model: type[Numbered]) -> int | None:
        code = row["values"].get("code", "")
        number = number_in(code)
        if not number or not code.upper().startswith(model.code_letter) or code.count("-") > 1:
            example, name = f"{model.code_letter}-0012", model._meta.verbose_name
            self._fault("code", row, code=code[:40], record=str(name), example=example)
            return None
        return number

    def _first_time(self, key: Any, row: Row, first: dict[Any, Row]) -> bool:
        if key in first:
            code = row["values"]["code"]
            self._fault("code-twice", row, code=code, first=first[key]["where"])
            return False
        first[key] = row
        return True

    @staticmethod
    def _set(record: Any, name: str, row: Row) -> bool:
        """Give the record the file's value and return whether that changed it."""
        if name not in row["values"]:
            return False
        value = row["values"][name]
        if not value and name in ("material", "feet_kind"):
            return False  # an empty cell leaves a choice at what it was
        changed = getattr(record, name) != value
        setattr(record, name, value)
        return changed

    def _set_customer(self, doll: Doll, row: Row) -> bool:
        code = row["values"].get("customer")
        if code is None:
            return False
        customer = None
        if code:
            number = number_in(code) if code.upper().startswith("C") else None
            customer = self.customers.get(number or 0)
            if customer is None:
                self._fault("customer-unknown", row, code=code[:40])
                return False
        old_id, new_id = doll.customer_id, customer.pk if customer else None
        doll.customer = customer
        return old_id != new_id or (customer is not None and new_id is None)

    def _set_made_at(self, record: Any, row: Row) -> None:
        text = row["values"].get("made_at", "")
        try:
            moment = _moment(text)
        except ValueError:
            self._fault("cell", row, column="made_at")
        else:
            record.made_at = moment

    def _sound(self, record: models.Model, row: Row, leave_out: tuple[str, ...]) -> bool:
        try:
            record.clean_fields(exclude={*leave_out, "made_by", "made_at"})
        except ValidationError as error:
            for name, said in error.message_dict.items():
                self._fault("value", row, column=name, said=" ".join(said))
            return False
        return True

    # --- feet ------------------------------------------------------------------------------

    def _plan_feet(self, rows: list[Row]) -> None:
        stored = self._stored_feet()
        last = Count({key[:2]: 0 for key in stored})
        for doll_number, side, version in stored:
            last[doll_number, side] = max(last[doll_number, side], version)
        first: dict[FootKey, Row] = {}
        keyed = [(key, row) for row in rows if (key := self._foot_key(row)) is not None]
        for key, row in sorted(keyed, key=lambda pair: pair[0]):
            if not self._first_time(key, row, first):
                continue
            if key in stored:
                self._compare(stored[key], row)
            elif key[2] != last[key[:2]] + 1:
                self._fault("version-gap", row, version=key[2], last=last[key[:2]])
            elif self._plan_new_foot(key, row):
                last[key[:2]] = key[2]

    def _stored_feet(self) -> dict[FootKey, FootVersion]:
        numbers = {doll.pk: doll.number for doll in self.dolls.values() if doll.pk is not None}
        found: dict[FootKey, FootVersion] = {}
        for some in _batches(sorted(numbers)):
            for foot in FootVersion.objects.filter(doll_id__in=some):
                found[numbers[foot.doll_id], foot.foot_side, foot.version] = foot
        return found

    def _foot_key(self, row: Row) -> FootKey | None:
        values = row["values"]
        number = self._code_of(row, Doll)
        if number is None:
            return None
        if number not in self.dolls:
            self._fault("doll-unknown", row, code=values["code"])
            return None
        text, side = values.get("version", ""), values.get("foot_side", "")
        if not (text.isascii() and text.isdigit() and len(text) < 7 and int(text) > 0):
            self._fault("version", row)
            return None
        if side not in FootVersion.Side.values:
            self._fault("side", row, side=side[:20])
            return None
        return number, side, int(text)

    def _compare(self, stored: FootVersion, row: Row) -> None:
        """Count a foot that comes again as it is; one that differs is a fault."""
        given = FootVersion(level_girths=stored.level_girths)
        told = [name for name in row["values"] if name not in ("code", "version", "made_at")]
        if not self._fill(given, row):
            return
        differs = [name for name in told if _comparable(given, name) != _comparable(stored, name)]
        if differs:
            self._fault(
                "foot-differs",
                row,
                code=row["values"]["code"],
                side=stored.get_foot_side_display(),
                version=stored.version,
                columns=", ".join(differs),
            )
        else:
            self.plan.same["foot"] += 1

    def _plan_new_foot(self, key: FootKey, row: Row) -> bool:
        foot = FootVersion(doll=self.dolls[key[0]], version=key[2])
        if not self._fill(foot, row) or not self._sound(foot, row, ("doll",)):
            return False
        if foot.mesh and not mesh_is_here(foot.mesh["sha256"]):
            self._fault("mesh-lost", row, name=foot.mesh["sha256"][:80])
            return False
        problems = version_problems(foot)
        for problem in problems:
            self._fault("foot", row, said=problem.text)
        self._set_made_at(foot, row)
        if not problems:
            self.plan.new["foot"].append(foot)
        return not problems

    def _fill(self, foot: FootVersion, row: Row) -> bool:
        values = row["values"]
        sound = True
        for name in NUMBERS:
            text = values.get(name, "")
            try:
                setattr(foot, name, typed_length(text) if text else None)
            except ValueError:
                self._fault("cell", row, column=name)
                sound = False
        foot.foot_side = values.get("foot_side", "")
        foot.reason = values.get("reason", "")
        foot.level_girths = values.get("level_girths", [])
        foot.sole_outline = values.get("sole_outline", [])
        foot.side_profile = values.get("side_profile", [])
        digest = values.get("mesh", "")
        foot.mesh = {"sha256": digest} if digest else {}
        return sound


def _numbers(rows: list[Row], column: str) -> set[int]:
    found = (number_in(row["values"].get(column, "")) for row in rows)
    return {number for number in found if number}


def _batches(numbers: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(numbers), BATCH):
        yield numbers[start : start + BATCH]


def _moment(text: str) -> datetime:
    if not text:
        return timezone.now()
    moment = parse_datetime(text)
    if moment is None:
        raise ValueError(text)
    return moment if timezone.is_aware(moment) else timezone.make_aware(moment)


def _comparable(foot: FootVersion, name: str) -> Any:
    value = getattr(foot, name)
    if name == "mesh":
        return value.get("sha256", "")
    if name in (*MEASURE_KEYS, "knee_clearance_mm"):
        return length_text(value)
    return value
