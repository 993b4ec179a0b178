"""A role to give somebody."""

from django import forms

from kal.models import Role


class RoleForm(forms.Form):
    role = forms.ChoiceField(choices=Role)
