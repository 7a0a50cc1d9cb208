"""Jobs without a customer: pairs made for the shelf or a stall, in several sizes at once."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from patterns.layout.values import SPACING_MAX_MM
from workshop.models.library import FootVersion
from workshop.models.orders import Commission
from workshop.models.stock import Hide, LeatherLot
from workshop.models.styles import StyleVersion
from workshop.stock_layouts import line_letter

LINES_MOST = 12
PAIRS_MOST = 20  # of one line


class StockRun(models.Model):
    """What a job without a customer is made of besides its lines: its hides, and its plan."""

    commission = models.OneToOneField(
        Commission,
        verbose_name=_("job"),
        primary_key=True,
        on_delete=models.PROTECT,
        related_name="stock_run",
    )
    spacing_mm = models.DecimalField(
        _("gap between pieces (mm)"),
        max_digits=5,
        decimal_places=2,
        default=Decimal("1.5"),
        validators=[
            MinValueValidator(Decimal(0)),
            MaxValueValidator(Decimal(int(SPACING_MAX_MM))),
        ],
    )
    # What it may be cut from; they are kept for it once the work begins.
    hides = models.ManyToManyField(
        Hide, verbose_name=_("hides"), blank=True, related_name="stock_runs"
    )
    # Every line and every pair with its cost, written once when the work begins.
    plan = models.JSONField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("job for stock")

    def __str__(self) -> str:
        return self.commission.code


class StockLine(models.Model):
    """So many pairs of one style in one house size and one leather."""

    run = models.ForeignKey(StockRun, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    style = models.ForeignKey(StyleVersion, verbose_name=_("style"), on_delete=models.PROTECT)
    foot = models.ForeignKey(FootVersion, verbose_name=_("house size"), on_delete=models.PROTECT)
    lot = models.ForeignKey(LeatherLot, verbose_name=_("leather"), on_delete=models.PROTECT)
    pair_count = models.PositiveSmallIntegerField(
        _("pairs"), validators=[MinValueValidator(1), MaxValueValidator(PAIRS_MOST)]
    )
    # Leather whose colour may rub gets a lining and a sock lining, unless the maker says no.
    is_lined = models.BooleanField(_("lined where the colour may rub"), default=True)

    class Meta:
        verbose_name = _("line of a job for stock")
        ordering = ["run_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["run", "position"], name="stock_line_numbered_once"),
            models.UniqueConstraint(
                fields=["run", "style", "foot", "lot"],
                name="stock_line_said_once",
                violation_error_message=_("That is on the list already; change its pairs there."),
            ),
            models.CheckConstraint(
                condition=models.Q(pair_count__gte=1), name="stock_line_has_pairs"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.letter} {self.style.style.name}, {self.foot.doll.name}"

    @property
    def letter(self) -> str:
        """Return what stands for it on its pieces and pairs."""
        return line_letter(self.position)

    @property
    def leather(self) -> str:
        """Return the leather's name and colour, which lots bought at different times share."""
        return f"{self.lot.name}, {self.lot.colour}"
