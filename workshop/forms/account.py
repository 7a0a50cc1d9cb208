"""Forms for logins and the workshop's own settings."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model, password_validation
from django.contrib.auth.models import AbstractBaseUser
from django.utils.translation import gettext_lazy as _

from costing.errors import CostError
from costing.money import currency_digits
from workshop.forms.seen import SeenForm
from workshop.models import Member, Role, WorkshopProfile


class NewPasswordForm(forms.Form):
    """A password typed twice: by a one-time link another one for the login that is there."""

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

    def __init__(self, *args: Any, user: AbstractBaseUser | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        self._user = user

    def password_owner(self) -> AbstractBaseUser | None:
        """Return whose name the password must be unlike."""
        return self._user

    def clean_password(self) -> str:
        """Hold the password to the rules."""
        password = self.cleaned_data["password"]
        password_validation.validate_password(password, self.password_owner())
        return password

    def clean(self) -> dict[str, object]:
        """Refuse two passwords that differ."""
        data = super().clean()
        if data.get("password") and data.get("again") and data["password"] != data["again"]:
            self.add_error("again", _("The two passwords differ; type the same one twice."))
        return data


class FirstLoginForm(NewPasswordForm):
    """A name and a password for a new login."""

    username = forms.CharField(label=_("Login name"), max_length=60, min_length=2)
    field_order = ("username", "password", "again")

    def clean_username(self) -> str:
        """Refuse a name that is taken, in any case of letters."""
        name = self.cleaned_data["username"].strip()
        if get_user_model().objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(_("That login name is taken; choose another."))
        return name

    def password_owner(self) -> AbstractBaseUser:
        """Return the login that is to be made."""
        return get_user_model()(username=self.cleaned_data.get("username", ""))


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
        self._asker = user

    def clean_now(self) -> str:
        """Refuse any other password."""
        now = self.cleaned_data["now"]
        if not self._asker.check_password(now):
            raise forms.ValidationError(_("That is not your password."))
        return now


class LengthsForm(forms.ModelForm):
    """The unit a person types lengths in."""

    class Meta:
        model = Member
        fields = ["length_unit"]
        widgets = {"length_unit": forms.RadioSelect}


class PasswordForm(OutEverywhereForm, NewPasswordForm):
    """The password one has, and a new one typed twice."""

    field_order = ("now", "password", "again")

    def __init__(self, *args: Any, user: AbstractBaseUser, **options: Any) -> None:
        super().__init__(*args, user=user, **options)
        self._user = user
        self.fields["password"].label = _("New password")
        self.fields["again"].label = _("New password once more")


class InviteForm(forms.Form):
    """The role of somebody to let in."""

    role = forms.ChoiceField(label=_("Role"), choices=Role.choices, initial=Role.HELPER)


class WorkshopForm(SeenForm):
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
