"""Forms for logins and the workshop's own settings."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model, password_validation
from django.contrib.auth.models import AbstractBaseUser
from django.utils.translation import gettext_lazy as _

from costing.errors import CostError
from costing.money import currency_digits
from workshop.models import Role, WorkshopProfile


def both_alike(form: forms.Form, data: dict[str, object]) -> dict[str, object]:
    """Refuse a password that was typed otherwise the second time."""
    if data.get("password") and data.get("again") and data["password"] != data["again"]:
        form.add_error("again", _("The two passwords differ; type the same one twice."))
    return data


class FirstLoginForm(forms.Form):
    """A name and a password for a new login."""

    username = forms.CharField(label=_("Login name"), max_length=60, min_length=2)
    password = forms.CharField(
        label=_("Password"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=_("At least 10 characters; a sentence of your own is easy to remember."),
    )
    again = forms.CharField(
        label=_("Password once more"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_username(self) -> str:
        """Refuse a name that is taken, in any case of letters."""
        name = self.cleaned_data["username"].strip()
        if get_user_model().objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(_("That login name is taken; choose another."))
        return name

    def clean_password(self) -> str:
        """Hold the password to the rules."""
        password = self.cleaned_data["password"]
        user = get_user_model()(username=self.cleaned_data.get("username", ""))
        password_validation.validate_password(password, user)
        return password

    def clean(self) -> dict[str, object]:
        """Refuse two passwords that differ."""
        return both_alike(self, super().clean())


class OutEverywhereForm(forms.Form):
    """The password one has, to be sure who asks."""

    now = forms.CharField(
        label=_("Your password now"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, user: AbstractBaseUser, **options: Any) -> None:
        super().__init__(*args, **options)
        self._user = user

    def clean_now(self) -> str:
        """Refuse any other password."""
        now = self.cleaned_data["now"]
        if not self._user.check_password(now):
            raise forms.ValidationError(_("That is not your password."))
        return now


class PasswordForm(OutEverywhereForm):
    """The password one has, and a new one typed twice."""

    password = forms.CharField(
        label=_("New password"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=_("At least 10 characters; a sentence of your own is easy to remember."),
    )
    again = forms.CharField(
        label=_("New password once more"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_password(self) -> str:
        """Hold the password to the rules."""
        password = self.cleaned_data["password"]
        password_validation.validate_password(password, self._user)
        return password

    def clean(self) -> dict[str, object]:
        """Refuse two passwords that differ."""
        return both_alike(self, super().clean())


class NewPasswordForm(FirstLoginForm):
    """Another password for a login that is there, by a one-time link."""

    username = None

    def __init__(self, *args: Any, user: AbstractBaseUser, **options: Any) -> None:
        super().__init__(*args, **options)
        self._user = user

    def clean_password(self) -> str:
        """Hold the password to the rules."""
        password = self.cleaned_data["password"]
        password_validation.validate_password(password, self._user)
        return password


class InviteForm(forms.Form):
    """The role of somebody to let in."""

    role = forms.ChoiceField(label=_("Role"), choices=Role.choices, initial=Role.HELPER)


class WorkshopForm(forms.ModelForm):
    """The workshop's own settings."""

    class Meta:
        model = WorkshopProfile
        fields = [
            "name",
            "address",
            "currency",
            "paper",
            "stock_cost",
            "quote_valid_days",
            "deposit_pct",
            "deposit_days",
            "profit_floor_pct",
            "quote_wording",
            "tax_name",
            "tax_number",
            "tax_wording",
            "bill_wording",
        ]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "quote_wording": forms.Textarea(attrs={"rows": 4}),
            "tax_wording": forms.Textarea(attrs={"rows": 3}),
            "bill_wording": forms.Textarea(attrs={"rows": 4}),
        }
        help_texts = {
            "name": _("Stands at the head of every quote and paper."),
            "address": _("Stands on quotes, so that a customer can write to you."),
            "currency": _("Three letters, such as EUR, USD or JPY. Saved quotes keep theirs."),
            "profit_floor_pct": _("Articles for sale that leave less are marked. Yours to set."),
            "paper": _("What your printer holds; each sheet can be had in the other size too."),
            "stock_cost": _(
                "Which cost is counted for thread, eyelets and the like that are used."
            ),
            "quote_valid_days": _("For new quotes; saved ones keep their day."),
            "deposit_pct": _("Of the price agreed. Empty: no deposit is asked."),
            "tax_name": _("As your tax office calls it; stands on bills beside the percentage."),
            "tax_number": _("Yours, where a bill has to name it."),
            "tax_wording": _(
                "Your own words, such as why no tax is charged. Ask your tax office which are"
                " needed; bills that are issued keep theirs."
            ),
            "bill_wording": _("Until when and how to pay: terms, bank account."),
            "deposit_days": _(
                "Counted from the day a quote is accepted; then supplies and hides kept for the job"
                " are free again. Empty: they wait until the job is made or withdrawn."
            ),
        }

    def clean_currency(self) -> str:
        """Refuse a code that is no currency."""
        code = self.cleaned_data["currency"].upper()
        try:
            currency_digits(code)
        except CostError as error:
            raise forms.ValidationError(str(error)) from None
        return code
