"""What is asked on pages, with ranges and units."""

from django import forms

from workshop.forms.numbers import DecimalInput

# Every decimal of every form is typed into this box, fields made from records included. Django
# gives them a number box, and has no setting for another.
forms.DecimalField.widget = DecimalInput
