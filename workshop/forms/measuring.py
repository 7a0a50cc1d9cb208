"""Forms of measuring by link: the customer's boxes, and what the maker asks."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from patterns.errors import FootError
from patterns.foot import (
    FOOT_LENGTH_LEAST_MM,
    FOOT_LENGTH_MOST_MM,
    MEASURE_BY_KEY,
    MEASURES,
    foot_problems,
)
from patterns.house_sizes import GIRTHS
from workshop.forms.library import LengthField
from workshop.lengths import length_text, typed_length
from workshop.models import FootVersion, MeasuringLink
from workshop.selectors.library import labels_with_unit
from workshop.selectors.measuring_links import foot_side_of, mean_mm, measures_of
from workshop.services.library import field_of

# A tape laid twice on a small foot: common practice, no source.
APART_MOST_MM = Decimal("1.5")
SECOND = "_again"


class CustomerFootForm(forms.Form):
    """A foot's measures as a customer takes them, each girth twice."""

    foot_side = forms.ChoiceField(
        label=_("Which foot?"), choices=FootVersion.Side.choices, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label=_("Anything we should know"),
        max_length=2000,
        required=False,
        help_text=_("Such as: the toes are spread; the ankle is strung loosely."),
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    sure = forms.BooleanField(
        label=_("I have measured these again; send them as they are"), required=False
    )

    def __init__(self, *args: Any, link: MeasuringLink, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.link = link
        self.is_doubted = False
        self.asked = [MEASURE_BY_KEY[key] for key in link.asked_keys]
        self._earlier = measures_of(link.before) if link.before is not None else {}
        for measure in self.asked:
            self._add_boxes(measure.key, gettext(measure.help_text))
        if self._earlier:
            del self.fields["foot_side"]

    def _add_boxes(self, key: str, help_text: str) -> None:
        first = key == "foot_length"
        words = labels_with_unit()[key]
        limits: dict[str, Any] = {
            "least": typed_length(str(FOOT_LENGTH_LEAST_MM)) if first else Decimal(0),
            "most": typed_length(str(FOOT_LENGTH_MOST_MM)) if first else Decimal(1000),
        }
        needed = first or bool(self.link.asks)
        self.fields[key] = LengthField(label=words, help_text=help_text, required=needed, **limits)
        if key in GIRTHS:
            again = gettext("%(measure)s, taken a second time") % {"measure": words}
            self.fields[key + SECOND] = LengthField(label=again, required=needed, **limits)

    def clean(self) -> dict[str, Any]:
        """Hold each girth's two readings against one another, then all against one foot."""
        data = super().clean()
        for measure in self.asked:
            if measure.key in GIRTHS:
                self._check_twice(measure.key)
        if not self.errors:
            self._check_foot()
        return data

    def _check_twice(self, key: str) -> None:
        first, second = self.cleaned_data.get(key), self.cleaned_data.get(key + SECOND)
        if key in self.errors or key + SECOND in self.errors or first == second:
            return
        if first is None or second is None:
            missing = key if first is None else key + SECOND
            said = gettext("Please take this one twice, the tape laid anew; or leave both empty.")
            self.add_error(missing, ValidationError(said, code="once"))
        elif abs(first - second) > APART_MOST_MM:
            said = gettext(
                "%(one)s and %(two)s mm are %(apart)s mm apart; up to %(most)s is usual. Please"
                " take it twice more and type both anew."
            ) % {
                "one": length_text(first),
                "two": length_text(second),
                "apart": length_text(abs(first - second)),
                "most": APART_MOST_MM,
            }
            self.add_error(key + SECOND, ValidationError(said, code="apart"))

    def _check_foot(self) -> None:
        if self.cleaned_data.get("sure"):
            return
        for problem in self._problems():
            name = field_of(problem)
            self.add_error(name if name in self.fields else None, problem.text)
            self.is_doubted = True

    def _problems(self) -> list[FootError]:
        measures = {key: float(value) for key, value in self.taken_mm().items()}
        if "foot_length" not in measures:
            return []
        side = self.cleaned_data.get("foot_side", "left")
        return foot_problems(self.link.doll.name, measures, foot_side=side)

    def taken_mm(self) -> dict[str, Decimal]:
        """Return each measure as it counts: the mean of two readings, or what came before."""
        found = dict(self._earlier)
        for measure in self.asked:
            first = self.cleaned_data.get(measure.key)
            second = self.cleaned_data.get(measure.key + SECOND)
            if first is not None:
                found[measure.key] = first if second is None else mean_mm(first, second)
        return found

    def answer(self) -> dict[str, Any]:
        """Return what is kept with the link; call after the form was found valid."""
        data = self.cleaned_data
        readings = {"first": "", "second": SECOND}
        found: dict[str, Any] = {
            name: {
                measure.key: length_text(data[measure.key + ending])
                for measure in self.asked
                if data.get(measure.key + ending) is not None
            }
            for name, ending in readings.items()
        }
        return found | {
            "foot_side": data.get("foot_side") or foot_side_of(self.link.before),
            "note": data["note"],
            "sure": bool(data["sure"]),
        }

    def rows(self) -> list[tuple[str, forms.BoundField, forms.BoundField | None]]:
        """Return key, first box and second box, if any, of each measure asked for."""
        return [
            (m.key, self[m.key], self[m.key + SECOND] if m.key in GIRTHS else None)
            for m in self.asked
        ]


class AskForm(forms.Form):
    """What goes with a new link."""

    words = forms.CharField(
        label=_("Words to the customer"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class AskAgainForm(AskForm):
    """Which measures to ask again."""

    asks = forms.MultipleChoiceField(
        label=_("Measures to ask again"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Tick at least one measure to ask again.")},
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        words: Sequence[tuple[str, str]] = [(m.key, gettext(m.label)) for m in MEASURES]
        self.fields["asks"].choices = words
