"""The workshop's records."""

from workshop.models.audit import AuditEntry
from workshop.models.corrections import Correction
from workshop.models.cuttings import Cutting, LeftPiece
from workshop.models.day_plan import (
    DayOff,
    DaySettings,
    JobTurn,
    PostDays,
    StepPlace,
    WorkingDay,
)
from workshop.models.for_sale import Article, ArticlePrice
from workshop.models.jobs import BackgroundJob
from workshop.models.knocks import Knock
from workshop.models.library import Customer, Doll, FootVersion
from workshop.models.measuring import MeasuringLink
from workshop.models.numbers import Counter
from workshop.models.orders import Commission, Quote, QuoteMessage
from workshop.models.pairs import FinishedPair, PairStep
from workshop.models.parcels import Parcel
from workshop.models.payments import Bill, BillLine, Payment
from workshop.models.people import LoginLink, Member, Role, WorkshopProfile
from workshop.models.places import (
    DestinationTable,
    DestinationTax,
    PlaceFee,
    PlaceOfSale,
    PlaceVersion,
    PostageLine,
)
from workshop.models.plans import CutLine, CutList, HandLayout
from workshop.models.printers import Printer
from workshop.models.rates import RateCard, WorkStepRow
from workshop.models.repairs import JobPhoto, Kept, Repair, RepairAnswer, RepairPrice
from workshop.models.reservations import Reservation, ReservedSupply
from workshop.models.rub_tests import RubTest
from workshop.models.second_factor import RecoveryCode, SecondFactor
from workshop.models.stock import (
    Hide,
    LeatherLot,
    ShelfMark,
    StockBalance,
    StockMove,
    Supply,
)
from workshop.models.stock_runs import StockLine, StockRun
from workshop.models.styles import Style, StyleVersion
from workshop.models.work_log import TimingTaken, WorkLog

__all__ = [
    "Article",
    "ArticlePrice",
    "AuditEntry",
    "BackgroundJob",
    "Bill",
    "BillLine",
    "Commission",
    "Correction",
    "Counter",
    "Customer",
    "CutLine",
    "CutList",
    "Cutting",
    "DayOff",
    "DaySettings",
    "DestinationTable",
    "DestinationTax",
    "Doll",
    "FinishedPair",
    "FootVersion",
    "HandLayout",
    "Hide",
    "JobPhoto",
    "JobTurn",
    "Kept",
    "Knock",
    "LeatherLot",
    "LeftPiece",
    "LoginLink",
    "MeasuringLink",
    "Member",
    "PairStep",
    "Parcel",
    "Payment",
    "PlaceFee",
    "PlaceOfSale",
    "PlaceVersion",
    "PostDays",
    "PostageLine",
    "Printer",
    "Quote",
    "QuoteMessage",
    "RateCard",
    "RecoveryCode",
    "Repair",
    "RepairAnswer",
    "RepairPrice",
    "Reservation",
    "ReservedSupply",
    "Role",
    "RubTest",
    "SecondFactor",
    "ShelfMark",
    "StepPlace",
    "StockBalance",
    "StockLine",
    "StockMove",
    "StockRun",
    "Style",
    "StyleVersion",
    "Supply",
    "TimingTaken",
    "WorkLog",
    "WorkStepRow",
    "WorkingDay",
    "WorkshopProfile",
]
