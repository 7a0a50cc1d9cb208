"""Commissions and the quotes made for them."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from costing.money import to_minor_unit
from workshop.models.library import Customer, Doll, FootVersion
from workshop.models.numbers import Numbered


class Commission(Numbered):
    """One job: what was asked, for which doll, and how far it is."""

    class State(models.TextChoices):
        """How far the job is."""

        ENQUIRY = "enquiry", _("enquiry")
        MEASURED = "measured", _("measured")
        QUOTED = "quoted", _("quoted")
        ACCEPTED = "accepted", _("accepted")
        IN_WORK = "in work", _("in work")
        FINISHED = "finished", _("finished")
        SENT = "sent", _("sent")
        DECLINED = "declined", _("declined")
        WITHDRAWN = "withdrawn", _("withdrawn")

    # A quote can be accepted while its job stands here.
    OPEN_TO_QUOTES = (State.ENQUIRY, State.MEASURED, State.QUOTED)

    code_letter = "O"
    # Both are empty for a job without a customer, whose pairs are made for the shelf.
    customer = models.ForeignKey(
        Customer,
        verbose_name=_("customer"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="commissions",
    )
    doll = models.ForeignKey(
        Doll,
        verbose_name=_("doll"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="commissions",
    )
    state = models.CharField(
        _("state"), max_length=10, choices=State.choices, default=State.ENQUIRY
    )
    wanted_on = models.DateField(_("wanted on"), null=True, blank=True)
    note = models.TextField(_("what was asked"), max_length=8000, blank=True)
    country = models.CharField(_("country it goes to"), max_length=60, blank=True)
    budget = models.DecimalField(
        _("budget named"),
        max_digits=12,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    # The form it was taken in by: the same form sent twice, as by a double click, is one job.
    form_key = models.CharField(
        max_length=43, unique=True, null=True, blank=True, editable=False, default=None
    )
    again_of = models.ForeignKey(
        "self",
        verbose_name=_("ordered again after"),
        null=True,
        blank=True,
        editable=False,
        on_delete=models.PROTECT,
        related_name="again",
    )
    # As the settings had it when the customer said yes; None where none was asked.
    deposit_pct = models.DecimalField(
        _("deposit asked (% of the price)"),
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        editable=False,
    )
    end_reason = models.CharField(_("why it was declined or withdrawn"), max_length=300, blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    finished_at = models.DateTimeField(null=True, blank=True, editable=False, db_index=True)

    class Meta:
        verbose_name = _("job")
        ordering = ["-number"]
        indexes = [
            models.Index(fields=["state", "-number"]),
            models.Index(fields=["wanted_on", "number"], name="job_wanted_on"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(customer=None, doll=None)
                | models.Q(customer__isnull=False, doll__isnull=False),
                name="a_job_has_customer_and_doll_or_neither",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.made_for}"

    @property
    def is_for_stock(self) -> bool:
        """Return whether its pairs are made for the shelf, without a customer."""
        return self.doll_id is None

    @property
    def made_for(self) -> str:
        """Return the doll's name, or that it is for stock and what for."""
        if self.doll is not None:
            return self.doll.name
        what_for = self.note.strip().split("\n")[0][:60]
        return str(_("for stock")) + (f": {what_for}" if what_for else "")


class Quote(models.Model):
    """A price given to a customer, with every figure behind it.

    What was promised (`snapshot`, `drawings`, `price`, `pair_count`) never changes; only the
    answer and the link's life do. No personal data is inside: customer and doll are shown from
    their records. The drawn outlines are most of a quote and stand apart from its figures, so that
    what asks many quotes for figures does not read them.
    """

    class State(models.TextChoices):
        """What became of it."""

        OPEN = "open", _("open")
        ACCEPTED = "accepted", _("accepted")
        DECLINED = "declined", _("declined")
        WITHDRAWN = "withdrawn", _("withdrawn")

    FROZEN = (
        "commission_id",
        "version",
        "foot_id",
        "hide_id",
        "snapshot",
        "drawings",
        "price",
        "currency",
        "pair_count",
        "valid_until",
        "made_at",
    )
    LARGE = ("snapshot", "drawings")
    # They never change and a quote is never thrown away: the trail need not hold them once more.
    NOT_ON_TRAIL = LARGE

    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="quotes")
    version = models.PositiveIntegerField(_("version"))
    foot = models.ForeignKey(FootVersion, on_delete=models.PROTECT)
    hide = models.ForeignKey(
        "workshop.Hide", null=True, blank=True, on_delete=models.PROTECT, related_name="quotes"
    )
    snapshot = models.JSONField()
    drawings = models.JSONField(default=dict)
    price = models.DecimalField(_("price"), max_digits=14, decimal_places=4)
    currency = models.CharField(max_length=3)
    pair_count = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    token_hash = models.CharField(max_length=64, unique=True)
    link_serial = models.PositiveIntegerField(default=1)
    valid_until = models.DateField(_("valid until"))
    link_revoked_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    # The day the answer was given, where a maker typed it in.
    answered_on = models.DateField(null=True, blank=True)
    answered_by = models.CharField(max_length=20, blank=True)
    answer_note = models.TextField(max_length=8000, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("quote")
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["commission", "version"], name="quote_is_numbered_once"
            ),
            models.UniqueConstraint(
                fields=["commission"],
                condition=models.Q(state="accepted"),
                name="one_accepted_quote_a_job",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def save(self, *args: object, **kwargs: object) -> None:
        """Write the quote; refuse to change what was promised."""
        promised = getattr(self, "_promised", None)
        if promised is not None and any(
            value is not None and self.__dict__.get(name) != value
            for name, value in promised.items()
        ):
            raise ValueError(f"{self.code} was promised as it is; make a new quote instead")
        super().save(*args, **kwargs)

    def delete(self, *args: object, **kwargs: object) -> tuple[int, dict[str, int]]:
        """Refuse: a customer has seen it, or may have."""
        raise ValueError(f"{self.code} was promised; it is kept")

    @property
    def code(self) -> str:
        """Return the short code people see, such as Q-0107-2."""
        return f"Q-{self.commission.number:04d}-{self.version}"

    @property
    def shown_price(self) -> str:
        """Return the price with its currency, to the currency's smallest unit."""
        return f"{to_minor_unit(self.price, self.currency)} {self.currency}"

    @classmethod
    def from_db(cls, db, field_names, values):
        """Load a quote and remember what may not change."""
        quote = super().from_db(db, field_names, values)
        quote._promised = {name: quote.__dict__.get(name) for name in cls.FROZEN}
        return quote


class QuoteMessage(models.Model):
    """A question a customer asked about a quote."""

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="messages")
    text = models.TextField(_("your question"), max_length=2000)
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.text[:60]
