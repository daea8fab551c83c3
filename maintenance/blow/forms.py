"""Who is here before a storm, and until when."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from maintenance.models import StormPerson


class PeopleForm(forms.Form):
    """One line for each person: here or not, and until when where it is not the whole shift."""

    def __init__(self, *args: Any, people: Sequence[StormPerson], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.people = people
        for one in people:
            name = one.membership.user.get_full_name() or one.membership.user.get_username()
            self.fields[f"here_{one.membership_id}"] = forms.BooleanField(
                label=name, required=False, initial=one.is_here
            )
            self.fields[f"until_{one.membership_id}"] = forms.TimeField(
                label=_("works until"), required=False, initial=one.works_until,
                widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
            )  # fmt: skip

    def rows(self) -> list[tuple[BoundField, BoundField]]:
        """Return the two fields of each person, for the template."""
        return [(self[f"here_{one.membership_id}"], self[f"until_{one.membership_id}"]) for one in self.people]

    def changed(self) -> list[StormPerson]:
        """Return the people with what was filled in."""
        for one in self.people:
            one.is_here = self.cleaned_data[f"here_{one.membership_id}"]
            one.works_until = self.cleaned_data[f"until_{one.membership_id}"]
        return list(self.people)
