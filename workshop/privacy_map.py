"""Where something about a customer is kept: one table for the page, the export and the erasing.

A test walks all models: one that hangs on a customer and is not in this table fails it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model, QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from workshop.models import (
    Article,
    Bill,
    BillLine,
    Commission,
    Correction,
    Customer,
    CutLine,
    CutList,
    Cutting,
    Doll,
    FinishedPair,
    FootVersion,
    HandLayout,
    Hide,
    JobPhoto,
    JobTurn,
    Kept,
    MeasuringLink,
    PairStep,
    Parcel,
    Payment,
    Quote,
    QuoteMessage,
    Repair,
    RepairAnswer,
    RepairPrice,
    Reservation,
    ReservedSupply,
    StockLine,
    StockMove,
    StockRun,
    TimingTaken,
    WorkLog,
)

ERASED = "(erased)"


@dataclass(frozen=True, slots=True)
class Held:
    """One kind of record: how it hangs on a customer, and what in it is about that person.

    ``cleared`` says what stands in a column afterwards; in ``scrubbed`` columns only the names go;
    what is ``off_trail`` may stay in the record, and goes from the trail all the same.
    """

    model: type[Model]
    path: str
    cleared: Mapping[str, Any] = field(default_factory=dict)
    scrubbed: tuple[str, ...] = ()
    off_trail: tuple[str, ...] = ()

    def rows(self, customer: Customer) -> QuerySet[Any]:
        """Return the records that hang on a customer."""
        return self.model._base_manager.filter(**{self.path: customer.pk})


JOB = "commission__customer"
HELD: tuple[Held, ...] = (
    Held(
        Customer,
        "pk",
        {"name": ERASED, "email": "", "phone": "", "address": "", "country": "", "note": ""},
    ),
    Held(Doll, "customer", {"name": ERASED, "skin_tone": "", "note": ""}),
    Held(FootVersion, "doll__customer", {"reason": ERASED}),
    Held(MeasuringLink, "doll__customer", {"words": "", "token_hash": ""}),
    Held(Correction, "doll__customer", {"reason": ERASED}),
    Held(
        Commission,
        "customer",
        {"note": "", "country": "", "budget": None, "end_reason": "", "form_key": None},
    ),
    Held(Quote, JOB, {"answer_note": ""}),
    Held(QuoteMessage, f"quote__{JOB}", {"text": ERASED}),
    Held(Repair, JOB, {"cause": ERASED}),
    Held(RepairPrice, f"repair__{JOB}"),
    Held(RepairAnswer, f"repair__{JOB}", {"note": ""}),
    Held(Kept, JOB, {"what": ERASED, "condition": ERASED, "sent_back_note": ""}),
    Held(JobPhoto, JOB, {"note": ""}),
    Held(Parcel, JOB, {"tracking": "", "note": ""}),
    Held(Payment, JOB, {"note": "", "cancel_reason": ERASED, "form_key": None}),
    Held(Bill, JOB, off_trail=("content", "reason")),
    Held(BillLine, f"bill__{JOB}", off_trail=("text", "reason")),
    Held(FinishedPair, "customer", scrubbed=("name",)),
    Held(PairStep, "pair__customer", {"note": ""}),
    Held(WorkLog, JOB, {"note": ""}),
    Held(StockMove, JOB, scrubbed=("reason",)),
    Held(Reservation, JOB),
    Held(ReservedSupply, f"reservation__{JOB}"),
    Held(HandLayout, JOB),
    Held(CutList, JOB, scrubbed=("drawn_foot",)),
    Held(CutLine, f"cut_list__{JOB}", {"reason_note": ""}),
    Held(Cutting, JOB),
    Held(JobTurn, JOB),
    Held(TimingTaken, JOB),
)
# These hang on a job or a foot too, but never on a customer's: stock, and what is for sale. A hide
# names a job only as long as it waits for it.
NOT_OF_CUSTOMERS: tuple[type[Model], ...] = (StockRun, StockLine, Article, Hide)


@dataclass(frozen=True, slots=True)
class Stored:
    """A line of the page: what is stored, what for, and for how long."""

    what: str | Promise
    purpose: str | Promise
    until: str | Promise


_ERASING = _("until you erase the customer")
STORED: tuple[Stored, ...] = (
    Stored(
        _("Customers: name, e-mail, phone, address, country, your note"),
        _("to answer, to send the parcel, to write the bill"),
        _ERASING,
    ),
    Stored(
        _("Dolls: name, material, skin tone, your note; feet with measures, tracings and meshes"),
        _("to make what fits, and to make it again"),
        _("until you erase the customer; bare measures stay, as quotes were made from them"),
    ),
    Stored(
        _("Orders: the customer's message, date and country wished for, budget, photographs"),
        _("to know what was asked and agreed"),
        _ERASING,
    ),
    Stored(
        _("Quotes, questions to them and answers; what a measuring link was answered with"),
        _("to keep to what was agreed"),
        _("the figures stay; words are erased with the customer"),
    ),
    Stored(
        _("Payments, bills and credit notes with name and address"),
        _("to be paid, and for the tax office"),
        _("the amounts stay; the name on bills is erased only if you choose so"),
    ),
    Stored(
        _("Parcels with their numbers, repairs, goods in keeping and their condition"),
        _("to find a parcel, to mend what was made"),
        _("words and numbers of parcels are erased with the customer"),
    ),
    Stored(
        _("The trail: who changed what, before and after"),
        _("to clear up mistakes"),
        _("what it holds of a customer is erased with the customer"),
    ),
    Stored(
        _("Logins of the people here: name, password as a hash; who wrote what"),
        _("to let them in, and to know who did what"),
        _("as long as the workshop is kept; a login that is closed lets nobody in"),
    ),
    Stored(
        _("Tries to log in, by network address, only as a keyed hash"),
        _("to make who guesses wait"),
        _("half an hour"),
    ),
    Stored(
        _("Backups in the data folder"),
        _("to lose nothing"),
        _(
            "until newer ones replace them, after two weeks if one is made a day; copies you took"
            " elsewhere until you delete them"
        ),
    ),
)
