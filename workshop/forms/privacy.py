"""Forms for how long customers are kept, and for erasing one."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from workshop.models import Customer, WorkshopProfile
from workshop.services.privacy import Choice


class KeepForm(forms.ModelForm):
    """For how many months after the last order customers are kept."""

    class Meta:
        model = WorkshopProfile
        fields = ["keep_customers_months"]
        help_texts = {
            "keep_customers_months": _(
                "Whoever has passed it is listed here; nothing is erased by itself. Empty: no list."
            )
        }

    def clean(self) -> dict[str, Any]:
        """Take an empty box for a wish, but not a sending without the box."""
        if self.add_prefix("keep_customers_months") not in self.data:
            raise ValidationError(_("Nothing was sent; type the months and save again."))
        return super().clean()


class EraseForm(forms.Form):
    """What goes, and the customer's code, to be sure who is meant."""

    photographs = forms.BooleanField(
        label=_("erase the photographs of the orders"), required=False, initial=True
    )
    meshes = forms.BooleanField(
        label=_("erase the meshes of the feet; their measures stay"), required=False, initial=True
    )
    bills = forms.BooleanField(
        label=_("take the name and address off bills and credit notes too"),
        required=False,
        help_text=_(
            "Tax law often asks that bills are kept with the name, for years. Which law holds for"
            " you and how long is yours to know; ask your tax adviser before you tick this."
        ),
    )
    code = forms.CharField(label=_("Customer's code, to be sure"), max_length=12)

    def __init__(self, *args: Any, customer: Customer, **options: Any) -> None:
        super().__init__(*args, **options)
        self._customer = customer
        self.fields["code"].help_text = _("Type %(code)s.") % {"code": customer.code}

    def clean_code(self) -> str:
        """Refuse the code of somebody else."""
        code = self.cleaned_data["code"].strip().upper()
        if code != self._customer.code:
            raise forms.ValidationError(
                _("That is not this customer's code; type %(code)s.")
                % {"code": self._customer.code}
            )
        return str(code)

    def choice(self) -> Choice:
        """Return what was chosen."""
        data = self.cleaned_data
        return Choice(photographs=data["photographs"], meshes=data["meshes"], bills=data["bills"])
