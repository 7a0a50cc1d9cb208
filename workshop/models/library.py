"""Customers, their dolls, and every foot ever measured."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models.numbers import Numbered, Unchanging


class Customer(Numbered):
    """Somebody the workshop makes for; contact data is the owner's alone."""

    code_letter = "C"
    name = models.CharField(_("name"), max_length=120)
    email = models.EmailField(_("e-mail"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    address = models.TextField(_("address"), max_length=400, blank=True)
    country = models.CharField(_("country"), max_length=60, blank=True)
    note = models.TextField(_("note"), max_length=4000, blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    # When the personal data was erased; code, orders and amounts stay.
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("customer")
        ordering = ["-number"]
        indexes = [models.Index(Lower("name"), "number", name="customer_by_name")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Doll(Numbered):
    """One doll: a customer's, or one of the workshop's own house sizes."""

    class Material(models.TextChoices):
        """What the doll is made of; says what leather colour may do to it."""

        RESIN = "resin", _("resin")
        VINYL = "vinyl", _("vinyl")
        SILICONE = "silicone", _("silicone")
        PORCELAIN = "porcelain", _("porcelain")
        CLOTH = "cloth", _("cloth")
        OTHER = "other", _("other")

    class FeetKind(models.TextChoices):
        """How the feet are made."""

        FLAT = "flat", _("flat")
        HEELED = "heeled", _("cast on a raised heel")
        JOINTED = "jointed", _("jointed at the ankle")

    code_letter = "D"
    customer = models.ForeignKey(
        Customer,
        verbose_name=_("customer"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="dolls",
        help_text=_("Leave empty for one of the workshop's own house sizes."),
    )
    name = models.CharField(_("name"), max_length=120)
    material = models.CharField(
        _("material"), max_length=12, choices=Material.choices, default=Material.RESIN
    )
    skin_tone = models.CharField(_("skin tone"), max_length=60, blank=True)
    feet_kind = models.CharField(
        _("kind of feet"), max_length=10, choices=FeetKind.choices, default=FeetKind.FLAT
    )
    note = models.TextField(_("note"), max_length=4000, blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("doll")
        ordering = ["-number"]
        indexes = [models.Index(Lower("name"), "number", name="doll_by_name")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


def length_field(label: str, **options: object) -> models.DecimalField:
    """Return a field for a length in mm: what was typed comes back as it was typed."""
    return models.DecimalField(
        label,
        max_digits=7,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1000))],
        **options,
    )


class FootVersion(Unchanging):
    """One foot as measured on one day; measuring again makes the next version."""

    class Side(models.TextChoices):
        """Left and right only ever mean feet."""

        LEFT = "left", _("left")
        RIGHT = "right", _("right")

    doll = models.ForeignKey(Doll, on_delete=models.PROTECT, related_name="feet")
    foot_side = models.CharField(_("foot"), max_length=5, choices=Side.choices, default=Side.LEFT)
    version = models.PositiveIntegerField(_("version"))
    foot_length = models.DecimalField(_("foot length (mm)"), max_digits=7, decimal_places=3)
    ball_width = length_field(_("ball width (mm)"))
    ball_girth = length_field(_("ball girth (mm)"))
    heel_width = length_field(_("heel width (mm)"))
    instep_girth = length_field(_("instep girth (mm)"))
    instep_height = length_field(_("instep height (mm)"))
    heel_instep_girth = length_field(_("heel-instep girth (mm)"))
    ankle_girth = length_field(_("ankle girth (mm)"))
    ankle_height = length_field(_("ankle height (mm)"))
    toe_height = length_field(_("toe height (mm)"))
    calf_girth = length_field(_("calf girth (mm)"))
    calf_height = length_field(_("calf height (mm)"))
    heel_raise = length_field(_("heel raise (mm)"))
    knee_clearance_mm = length_field(_("knee clearance (mm)"))
    level_girths = models.JSONField(_("level girths"), default=list, blank=True)
    sole_outline = models.JSONField(_("sole outline"), default=list, blank=True)
    side_profile = models.JSONField(_("side profile"), default=list, blank=True)
    # The mesh the foot was read from, if any: its file by sha256 (see `workshop.mesh_files`), and
    # the unit and pose somebody confirmed.
    mesh = models.JSONField(_("mesh"), default=dict, blank=True)
    reason = models.CharField(_("why"), max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        verbose_name = _("foot")
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["doll", "foot_side", "version"], name="foot_version_is_numbered_once"
            ),
            models.CheckConstraint(
                condition=models.Q(foot_length__gte=25, foot_length__lte=160),
                name="foot_length_in_range",
                violation_error_message=_("A foot is 25 to 160 mm long."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.doll.code} {self.get_foot_side_display()} {self.version}"
