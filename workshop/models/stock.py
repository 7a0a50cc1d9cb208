"""Leather on the shelf, supplies in the drawer, and the ledger of what came and went."""

from decimal import Decimal
from fractions import Fraction

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from costing.money import round_half_up
from costing.terms import UNIT_COST_PLACES
from workshop.models.numbers import Numbered, Unchanging

THOUSANDTHS = 1000  # the ledger counts whole thousandths of a unit, so sums are exact


class LeatherLot(Numbered):
    """Hides bought together: one kind, colour and price."""

    class PriceUnit(models.TextChoices):
        """What the price is for."""

        DM2 = "dm2", _("per dm²")
        SQUARE_FOOT = "sq ft", _("per square foot")
        HIDE = "hide", _("per hide")

    class Tannage(models.TextChoices):
        """How the skin was made leather."""

        VEGETABLE = "vegetable", _("vegetable")
        CHROME = "chrome", _("chrome")
        CHROME_FREE = "chrome free", _("chrome free, synthetic")
        COMBINATION = "combination", _("combination")
        ALUM = "alum", _("alum, tawed")
        OIL = "oil", _("oil")

    class Finish(models.TextChoices):
        """What was done to its face."""

        ANILINE = "aniline", _("aniline, unpainted")
        SEMI_ANILINE = "semi-aniline", _("semi-aniline")
        PIGMENTED = "pigmented", _("pigmented")
        PATENT = "patent", _("patent")
        SUEDE = "suede", _("suede, flesh side out")
        NUBUCK = "nubuck", _("nubuck, buffed grain")
        WAXED = "waxed", _("waxed or oiled")
        METALLIC = "metallic", _("metallic")

    code_letter = "L"
    name = models.CharField(_("name"), max_length=80)
    colour = models.CharField(_("colour"), max_length=40)
    supplier = models.CharField(_("supplier"), max_length=80, blank=True)
    thickness_mm = models.DecimalField(
        _("thickness (mm)"),
        max_digits=4,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.2")), MaxValueValidator(Decimal(6))],
    )
    price = models.DecimalField(
        _("price"), max_digits=12, decimal_places=4, validators=[MinValueValidator(Decimal(0))]
    )
    price_unit = models.CharField(
        _("price is"), max_length=6, choices=PriceUnit.choices, default=PriceUnit.DM2
    )
    tannage = models.CharField(_("tannage"), max_length=12, choices=Tannage.choices, blank=True)
    finish = models.CharField(_("finish"), max_length=12, choices=Finish.choices, blank=True)
    bought_on = models.DateField(
        _("bought on"),
        null=True,
        blank=True,
        default=timezone.localdate,
        help_text=_("Left empty, it is an offer: it can be quoted, but none is on the shelf."),
    )
    smallest_sold_dm2 = models.DecimalField(
        _("smallest amount sold (dm²)"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(2000))],
        help_text=_("What has to be bought at least; empty for any amount."),
    )
    whole_hide_dm2 = models.DecimalField(
        _("size of a whole hide (dm²)"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(2000))],
        help_text=_("As the seller gives it; needed to quote an offer that is priced per hide."),
    )
    colour_may_rub = models.BooleanField(
        _("colour may rub off"),
        default=False,
        help_text=_("Dark or bright leather can stain resin and vinyl for good; line it light."),
    )
    note = models.TextField(_("note"), max_length=2000, blank=True)

    class Meta:
        verbose_name = _("leather lot")
        ordering = ["-number"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}, {self.colour}"

    @property
    def is_offer(self) -> bool:
        """Return whether it is not bought yet: it can be quoted, none is on the shelf."""
        return self.bought_on is None


class Hide(Numbered):
    """One hide or remnant: outline grain side up, x along the tight way when the angle is 0."""

    class State(models.TextChoices):
        """Where the hide is."""

        ON_SHELF = "on shelf", _("on the shelf")
        RESERVED = "reserved", _("reserved")
        CUT = "cut", _("cut up")

    class DefectKind(models.TextChoices):
        """What is wrong at a place; no piece may touch it, whatever it is."""

        SCAR = "scar", _("scar")
        HOLE = "hole", _("hole")
        BRAND = "brand", _("brand")
        TICK = "tick marks", _("tick marks")
        VEINS = "veins", _("veins")
        LOOSE = "loose grain", _("loose grain")
        STRETCHED = "stretched", _("stretched or soft")
        STAIN = "stain", _("stain")
        CUT = "cut", _("knife cut")
        CUT_OUT = "cut out", _("cut out before")
        OTHER = "other", _("other")

    code_letter = "H"
    lot = models.ForeignKey(
        LeatherLot, verbose_name=_("lot"), on_delete=models.PROTECT, related_name="hides"
    )
    outline = models.JSONField(_("outline"))
    defects = models.JSONField(_("defects"), default=list, blank=True)
    areas = models.JSONField(_("areas by grade"), default=list, blank=True)
    tight_way_deg = models.DecimalField(
        _("tight way (degrees from the x axis)"),
        max_digits=5,
        decimal_places=1,
        default=Decimal(0),
        validators=[MinValueValidator(Decimal(-180)), MaxValueValidator(Decimal(180))],
    )
    thickness_mm = models.DecimalField(
        _("thickness (mm)"),
        max_digits=4,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.2")), MaxValueValidator(Decimal(6))],
    )
    cost = models.DecimalField(
        _("cost of the hide"),
        max_digits=12,
        decimal_places=4,
        validators=[MinValueValidator(Decimal(0))],
    )
    area_mm2 = models.DecimalField(_("usable area (mm²)"), max_digits=12, decimal_places=1)
    state = models.CharField(
        _("state"), max_length=10, choices=State.choices, default=State.ON_SHELF
    )
    remnant_of = models.ForeignKey(
        "self", verbose_name=_("remnant of"), null=True, blank=True, on_delete=models.PROTECT
    )
    # Each {"x_mm", "y_mm", "thickness_mm"}, measured with a gauge at that place.
    thickness_places = models.JSONField(_("thickness by place"), default=list, blank=True)
    # {"sha256", "width_px", "height_px", "marks_px": [[x, y], [x, y]], "marks_mm"}, or empty.
    photograph = models.JSONField(_("photograph"), default=dict, blank=True)
    reserved_for = models.ForeignKey(
        "workshop.Commission",
        verbose_name=_("reserved for"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="hides_reserved",
    )
    note = models.TextField(_("note"), max_length=2000, blank=True)

    class Meta:
        verbose_name = _("hide")
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(area_mm2__gt=0), name="hide_has_a_usable_area"
            ),
            models.CheckConstraint(
                condition=models.Q(reserved_for=None) | models.Q(state="reserved"),
                name="hide_reserved_for_a_job_says_so",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.lot.name}, {self.lot.colour}"


class Supply(Numbered):
    """Something bought and used up: thread, lace, eyelets, clay, glue, card, boxes."""

    class Kind(models.TextChoices):
        """What it is used for in a pair."""

        THREAD = "thread", _("thread")
        LACE = "lace", _("lace")
        EYELET = "eyelet", _("eyelets")
        CLAY = "clay", _("clay")
        SOLE_LEATHER = "sole leather", _("sole leather")
        LINING = "lining", _("lining")
        GLUE = "glue", _("glue")
        CARD = "card", _("card")
        BOX = "box", _("box")
        OTHER = "other", _("other")

    class Unit(models.TextChoices):
        """How it is counted."""

        METRE = "m", _("m")
        PIECE = "piece", _("piece")
        GRAM = "g", _("g")
        DM2 = "dm2", _("dm²")
        MILLILITRE = "ml", _("ml")

    code_letter = "B"
    name = models.CharField(_("name"), max_length=80)
    kind = models.CharField(_("used as"), max_length=12, choices=Kind.choices)
    unit = models.CharField(_("unit"), max_length=6, choices=Unit.choices)
    pack_quantity = models.DecimalField(
        _("a pack holds"),
        max_digits=10,
        decimal_places=3,
        validators=[MinValueValidator(Decimal("0.001"))],
    )
    pack_price = models.DecimalField(
        _("price of a pack"),
        max_digits=12,
        decimal_places=4,
        validators=[MinValueValidator(Decimal(0))],
    )
    reorder_point = models.DecimalField(
        _("buy again below"),
        max_digits=10,
        decimal_places=3,
        default=Decimal(0),
        validators=[MinValueValidator(Decimal(0))],
    )
    supplier = models.CharField(_("supplier"), max_length=80, blank=True)
    is_usual = models.BooleanField(
        _("the usual one of its kind"), default=True, help_text=_("Used when a job names none.")
    )
    note = models.TextField(_("note"), max_length=2000, blank=True)

    class Meta:
        verbose_name = _("supply")
        verbose_name_plural = _("supplies")
        ordering = ["kind", "name"]

    def __str__(self) -> str:
        return self.name

    @property
    def unit_cost(self) -> Decimal:
        """Return the price of one unit, to a millionth: far below what any pair's use can show."""
        exact = Fraction(self.pack_price) / Fraction(self.pack_quantity)
        return round_half_up(exact, UNIT_COST_PLACES)


class StockMoveQuerySet(models.QuerySet["StockMove"]):
    """Lines of the ledger."""

    def given_back(self) -> "StockMoveQuerySet":
        """Leave those by which a job gave back what it had taken."""
        return self.filter(on_hand_change__gt=0, commission__isnull=False)


class StockMove(Unchanging):
    """One line of the ledger: thousandths of the unit in or out, or between free and reserved."""

    class Kind(models.TextChoices):
        """Why stock moved."""

        BOUGHT = "bought", _("bought")
        RESERVED = "reserved", _("reserved")
        RELEASED = "released", _("released")
        USED = "used", _("used")
        COUNTED = "counted", _("counted")

    supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    on_hand_change = models.BigIntegerField()
    reserved_change = models.BigIntegerField(default=0)
    # What goods that came in cost in all; empty for those that went out.
    cost = models.DecimalField(
        max_digits=18,
        decimal_places=6,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    commission = models.ForeignKey(
        "workshop.Commission",
        verbose_name=_("job"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="stock_moves",
    )
    reason = models.CharField(max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now)

    objects = StockMoveQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [
            # A supply's ledger is read newest first, a page at a time.
            models.Index(fields=["supply", "-id"], name="stock_move_ledger"),
            # What jobs gave back is rare, and asked for whenever a shelf is worked out.
            models.Index(
                fields=["on_hand_change"],
                condition=models.Q(commission__isnull=False),
                name="stock_move_given_back",
            ),
            # A month asks for its moves of all supplies.
            models.Index(fields=["made_at"], name="stock_move_made_at"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {Decimal(self.on_hand_change) / THOUSANDTHS}"


class StockBalance(models.Model):
    """What the ledger adds up to; changed in the same transaction by a guarded update."""

    supply = models.OneToOneField(
        Supply, primary_key=True, on_delete=models.PROTECT, related_name="balance"
    )
    on_hand = models.BigIntegerField(default=0)
    reserved = models.BigIntegerField(default=0)
    free = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(on_hand__gte=0, reserved__gte=0, free__gte=0),
                name="balance_is_never_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(on_hand=models.F("reserved") + models.F("free")),
                name="balance_adds_up",
            ),
        ]

    def __str__(self) -> str:
        return f"{Decimal(self.on_hand) / THOUSANDTHS} on hand"


class ShelfMark(models.Model):
    """A supply's shelf after one of its moves, so that nobody reads the ledger before it.

    It follows from moves that never change, and may be deleted at any time.
    """

    supply = models.ForeignKey(Supply, on_delete=models.CASCADE, related_name="shelf_marks")
    way = models.CharField(max_length=10)  # of costing: as `costing.stock_cost.CostWay`
    move_id = models.PositiveBigIntegerField()
    shelf = models.JSONField()  # as `costing.shelf.Shelf.kept`

    class Meta:
        ordering = ["-move_id"]
        constraints = [
            models.UniqueConstraint(fields=["supply", "way", "move_id"], name="shelf_marked_once")
        ]

    def __str__(self) -> str:
        return f"{self.supply.code} at {self.move_id}"
