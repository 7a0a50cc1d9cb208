"""Supplies kept for a job: reserved when its quote is accepted, until it is made or ended."""

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.orders import Commission
from workshop.models.stock import Supply


class Reservation(models.Model):
    """What a job keeps on the shelf; with a deposit due, only until that day."""

    class State(models.TextChoices):
        """Whether it still holds."""

        OPEN = "open", _("open")
        RELEASED = "released", _("released")
        LAPSED = "lapsed", _("lapsed, the deposit is late")
        USED = "used", _("used up")

    commission = models.OneToOneField(
        Commission, verbose_name=_("job"), on_delete=models.PROTECT, related_name="reservation"
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    deposit_due_on = models.DateField(_("deposit due on"), null=True, blank=True)
    deposit_paid_on = models.DateField(_("deposit paid on"), null=True, blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("reservation")
        ordering = ["-id"]
        indexes = [
            # The open ones are asked for again and again, and stay few.
            models.Index(
                fields=["deposit_due_on"],
                condition=models.Q(state="open"),
                name="reservation_open",
            )
        ]

    def __str__(self) -> str:
        return self.commission.code

    @property
    def is_open(self) -> bool:
        """Return whether it still keeps anything for its job."""
        return self.state == self.State.OPEN


class ReservedSupplies(models.QuerySet["ReservedSupply"]):
    """Lines of reservations, found by way of the open ones, which stay few."""

    def of_open(self) -> "ReservedSupplies":
        """Return the lines of reservations that still hold."""
        return self.filter(reservation__in=Reservation.objects.filter(state=Reservation.State.OPEN))

    def missing_some(self) -> "ReservedSupplies":
        """Return the lines of open reservations that hold less than their jobs still need."""
        return self.of_open().filter(needed__gt=models.F("held") + models.F("taken"))


class ReservedSupply(models.Model):
    """One supply of a job, in thousandths of its unit: what it takes, what it holds, what it took.

    ``held`` changes with the supply's balance in one transaction: over all jobs it is what the
    balance calls reserved.
    """

    reservation = models.ForeignKey(Reservation, on_delete=models.PROTECT, related_name="lines")
    supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="reserved_lines")
    needed = models.BigIntegerField()
    held = models.BigIntegerField(default=0)
    taken = models.BigIntegerField(default=0)

    objects = ReservedSupplies.as_manager()

    class Meta:
        verbose_name = _("reserved supply")
        ordering = ["supply__kind", "supply__name", "supply_id"]
        constraints = [
            models.UniqueConstraint(
                fields=["reservation", "supply"], name="a_job_reserves_a_supply_once"
            ),
            models.CheckConstraint(
                condition=models.Q(held__gte=0, needed__gte=0), name="reserved_is_never_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.supply.code} for {self.reservation}"

    @property
    def missing(self) -> int:
        """Return what the job still needs and does not hold."""
        return max(0, self.needed - self.held - self.taken)
