"""Forms for jobs and quotes."""

from contextlib import suppress
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from patterns.layout.values import SPACING_MAX_MM
from patterns.style import Parameter
from patterns.style import Style as Pattern
from workshop.forms.library import LengthField
from workshop.forms.numbers import MmField
from workshop.forms.pairs import DayField
from workshop.forms.sale_choice import BY_HAND, SALE_NAMES, sale_fields
from workshop.lengths import INCH, MM, UNITS, length_in, typed_mm
from workshop.models import (
    Commission,
    FootVersion,
    Hide,
    LeatherLot,
    QuoteMessage,
    StyleVersion,
)
from workshop.selectors.orders import (
    MOST_HIDES,
    earlier_quote,
    feet_of,
    hides_on_shelf,
    hides_taken,
    last_choice,
    leather_offers,
    lot_choice,
    styles_offered,
)
from workshop.selectors.places import country_asked
from workshop.selectors.styles import pattern_of, unit_words
from workshop.services.cuttings import reserved_words

YES_NO = [("", _("as the style")), ("true", _("yes")), ("false", _("no"))]
LEFT_OUT = "left out"
# What a maker sets for nearly every job; the style's other parameters stand folded below.
FIRST_OPTIONS = (
    "boot_height_mm",
    "shaft_height_mm",
    "eyelet_count",
    "strap_width_mm",
    "heel_height_mm",
    "lining",
)


# Knife round a card, and placed by eye; common practice, no source.
GAPS_MM = ("1.5", "3")
TYPED_IN = "typed_in"  # the unit of an address's lengths, where it is not mm
LONGEST_OPTION_MM = Decimal(99_999)


class LeatherField(forms.ChoiceField):
    """A hide on the shelf, or a lot that is not bought yet; one that is taken says by whom."""

    def validate(self, value: str) -> None:
        """Refuse what is no choice; a hide reserved for another job by name."""
        taken = next((hide for hide in hides_taken() if str(hide.pk) == value), None)
        if taken is not None and not self.valid_value(value):
            raise ValidationError(reserved_words(taken), code="reserved")
        super().validate(value)


class ChoiceForm(forms.Form):
    """What a quote is for; sent as a query, so that trying out stores nothing.

    After the four choices come the parameters of the chosen style, each of which may be left open.
    """

    style = forms.TypedChoiceField(label=_("Style"), coerce=int)
    foot = forms.TypedChoiceField(label=_("Foot"), coerce=int)
    hide = LeatherField(label=_("Leather"), required=False)
    pairs = forms.IntegerField(label=_("Pairs"), min_value=1, max_value=20)
    gap = forms.DecimalField(
        label=_("Gap between pieces (mm)"),
        min_value=Decimal(0),
        max_value=Decimal(int(SPACING_MAX_MM)),
        max_digits=5,
        decimal_places=2,
        required=False,
        help_text=_("1.5 for a knife round the card, 3 placed by eye; common practice, no source."),
    )
    corrections = forms.ChoiceField(
        label=_("Corrections"),
        choices=[("", _("applied")), (LEFT_OUT, _("left out"))],
        required=False,
    )

    def __init__(self, data: QueryDict, *, job: Commission, unit: str = MM) -> None:
        self.job = job
        # An address says itself what its lengths are in; one that does not is in mm, and is shown
        # in what whoever looks at it types in.
        said = data.get(TYPED_IN, "")
        self.unit = said if said in UNITS else unit
        self._turns = self.unit == INCH and said not in UNITS
        self.feet = list(feet_of(job.doll_id))
        self.styles = styles_offered(also=data.get("style", ""))
        self.hides = hides_on_shelf(job.pk)
        self.offers = leather_offers()
        self.data_given = data
        # Until something was quoted, what the customer said decides where it goes.
        is_new = bool(job.country) and earlier_quote(job.pk) is None
        self.country = country_asked(job) if is_new else ""
        super().__init__(self._with_defaults(data))
        self.fields["style"].choices = [(v.pk, _style_label(v, self.styles)) for v in self.styles]
        self.fields["foot"].choices = [(foot.pk, _foot_label(foot)) for foot in self.feet]
        self.fields["hide"].choices = _leather_choices(self.hides, self.offers)
        if len(self.hides) >= MOST_HIDES:
            self.fields["hide"].help_text = _("Only the %(most)d newest hides are listed here.") % {
                "most": MOST_HIDES
            }
        self.pattern = self._pattern()
        self.option_names = self._add_options()
        self.fields |= sale_fields(self.country)

    def _pattern(self) -> Pattern | None:
        """Return the pattern of the style that is asked for, before the form is checked."""
        asked = str(self.data.get("style", ""))
        version = next((v for v in self.styles if str(v.pk) == asked), None)
        return pattern_of(version.style) if version is not None else None

    def _add_options(self) -> tuple[str, ...]:
        """Add a field for each parameter of the style, those set most often first."""
        known = {p.key: p for p in self.pattern.parameters} if self.pattern else {}
        keys = [key for key in FIRST_OPTIONS if key in known]
        names = (*keys, *(key for key in known if key not in keys))
        for key in names:
            self.fields[key] = option_field(known[key], self.unit)
            if self._turns and _is_length(known[key]) and self.data.get(key):
                with suppress(ValueError):
                    self.data[key] = length_in(typed_mm(str(self.data[key])), INCH)
        if self.unit == INCH:
            self.data[TYPED_IN] = INCH
            self.fields[TYPED_IN] = forms.CharField(required=False, widget=forms.HiddenInput)
        return names

    def first_options(self) -> list[forms.BoundField]:
        """Return the fields of what is set for nearly every job, and of what is set in this one."""
        return [self[name] for name in self.option_names if self._is_first(name)]

    def more_options(self) -> list[forms.BoundField]:
        """Return the fields of the style's other parameters, all left to the style."""
        return [self[name] for name in self.option_names if not self._is_first(name)]

    def _is_first(self, name: str) -> bool:
        return name in FIRST_OPTIONS or self.data.get(name) not in ("", None)

    def main_fields(self) -> list[forms.BoundField]:
        """Return the fields every style has."""
        return [self[name] for name in self.base_fields]

    def sale_questions(self) -> list[forms.BoundField]:
        """Return the fields of how the order is sold, which stand on the price station."""
        return [self[name] for name in SALE_NAMES]

    def _with_defaults(self, data: QueryDict) -> dict[str, object]:
        """Fill what the query leaves out, so that the bare address shows something useful.

        Nothing chosen yet: what the job's newest quote was made for, else the newest foot.
        """
        first: dict[str, object] = {
            # The workshop's first style: its everyday one, whatever letter it begins with.
            "style": min(self.styles, key=lambda v: v.style.number).pk if self.styles else "",
            "foot": self.feet[0].pk if self.feet else "",
            "hide": next((hide.pk for hide in self.hides if hide.state != Hide.State.CUT), ""),
            "pairs": 1,
            "gap": GAPS_MM[0],
            "sent_to": self.country,
        }
        if not any(name in data for name in self.base_fields):
            first |= last_choice(self.job.pk)
        asked = {name: data[name] for name in data if data[name] != "" or name == "hide"}
        if asked.get("sent_to") == BY_HAND and not self.country:
            del asked["sent_to"]  # an address from before the first quote
        return first | asked

    def options(self) -> dict[str, str]:
        """Return the style parameters that were typed here."""
        typed = {name: self.cleaned_data.get(name) for name in self.option_names}
        return {
            name: format(value, "f") if isinstance(value, Decimal) else str(value)
            for name, value in typed.items()
            if value not in (None, "")
        }

    def leaves_corrections_out(self) -> bool:
        """Return whether the pieces are asked for without the maker's corrections."""
        return bool(self.cleaned_data.get("corrections") == LEFT_OUT)

    def chosen(self, name: str) -> FootVersion | Hide | object | None:
        """Return the chosen record of one of the three lists."""
        rows = {"style": self.styles, "foot": self.feet, "hide": self.hides}[name]
        wanted = str(self.cleaned_data.get(name))
        return next((row for row in rows if str(row.pk) == wanted), None)

    def chosen_offer(self) -> LeatherLot | None:
        """Return the chosen leather where it is not on the shelf."""
        wanted = str(self.cleaned_data.get("hide"))
        return next((lot for lot in self.offers if lot_choice(lot) == wanted), None)


def _is_length(parameter: Parameter) -> bool:
    return bool(parameter.kind == "length" and parameter.unit == MM)


def option_field(parameter: Parameter, typed_in: str = MM) -> forms.Field:
    """Return the field of one parameter of a style; left empty, the style decides.

    The style itself looks at the range, so that what it says stands beside the field.
    """
    if parameter.kind == "flag":
        return forms.ChoiceField(label=_(parameter.label), choices=YES_NO, required=False)
    unit = unit_words(parameter)
    label = f"{_(parameter.label)} ({unit})" if unit else _(parameter.label)
    if parameter.kind == "count":
        return forms.IntegerField(
            label=label,
            required=False,
            min_value=int(parameter.least),
            max_value=int(parameter.most),
        )
    if typed_in == INCH and _is_length(parameter):
        field = LengthField(label=label, required=False, least=None, most=LONGEST_OPTION_MM)
        field.widget.attrs.pop("class")
        field.typed_in(INCH)
        return field
    kind = MmField if _is_length(parameter) else forms.DecimalField
    return kind(label=label, required=False, max_digits=7, decimal_places=2)


def _style_label(version: StyleVersion, styles: list[StyleVersion]) -> str:
    """Return the style's name; an older version beside the newest says which it is."""
    same = sum(other.style_id == version.style_id for other in styles)
    return f"{version.style.name} ({version.version})" if same > 1 else version.style.name


def _foot_label(foot: FootVersion) -> str:
    return f"{foot.get_foot_side_display()} {foot.version}, {foot.foot_length.normalize():f} mm"


def _leather_choices(hides: list[Hide], offers: list[LeatherLot]) -> list[tuple[object, object]]:
    """Return the hides, and the offers under a heading of their own."""
    choices: list[tuple[object, object]] = [(hide.pk, _hide_label(hide)) for hide in hides]
    if offers:
        rows = [(lot_choice(lot), f"{lot}, {lot.thickness_mm} mm") for lot in offers]
        choices.append((_("not on the shelf"), rows))
    return choices


def _hide_label(hide: Hide) -> str:
    words = f"{hide.code} {hide.lot.name}, {hide.lot.colour}, {hide.thickness_mm} mm"
    return f"{words} ({hide.get_state_display()})" if hide.state == Hide.State.CUT else words


class EndForm(forms.Form):
    """Why a job comes to nothing, if it is known."""

    reason = forms.CharField(
        max_length=Commission._meta.get_field("end_reason").max_length, required=False
    )


class AnswerForm(forms.Form):
    """The customer's answer as it came by mail, typed in by the maker."""

    answer = forms.ChoiceField(
        label=_("Answer"), choices=[("accepted", _("accepted")), ("declined", _("declined"))]
    )
    way = forms.ChoiceField(
        label=_("It came by"),
        choices=[("mail", _("mail")), ("telephone", _("telephone")), ("in person", _("in person"))],
    )
    on = DayField(label=_("Answered on"), required=False)
    note = forms.CharField(
        label=_("The message"),
        max_length=8000,
        required=False,
        help_text=_("As it was written, pasted."),
        widget=forms.Textarea(attrs={"rows": 5}),
    )


class QuestionForm(forms.ModelForm):
    """A customer's question on the open quote page."""

    class Meta:
        model = QuoteMessage
        fields = ["text"]
        widgets = {"text": forms.Textarea(attrs={"rows": 4, "maxlength": 2000})}
