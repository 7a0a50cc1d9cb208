"""Forms that ask for a code of the phone."""

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.forms.account import OutEverywhereForm


class CodeForm(forms.Form):
    """One code."""

    code = forms.CharField(
        label=_("Code"),
        max_length=30,
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "inputmode": "numeric", "autofocus": True}
        ),
        help_text=_("The six digits your phone shows now."),
    )


class CodeOrRecoveryForm(CodeForm):
    """A code of the phone, or one of those written down."""

    def __init__(self, *args: object, **options: object) -> None:
        super().__init__(*args, **options)
        self.fields["code"].widget.attrs.pop("inputmode")
        self.fields["code"].help_text = _(
            "The six digits your phone shows now, or one of your recovery codes."
        )


class SecondFactorOffForm(OutEverywhereForm, CodeOrRecoveryForm):
    """The password and a code, to switch it off."""

    field_order = ("now", "code")
