"""What is typed to come in, and what a manager says of a person."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _g
from django.utils.translation import gettext_lazy as _

from farm.crew.keys import DIGITS, names_taken
from farm.crew.names import LONGEST, folded
from farm.models import Farm, Membership


class ComeInForm(forms.Form):
    """A short name and a code, typed with gloves on: spaces and dashes in the code do not count."""

    short_name = forms.CharField(
        label=_("Your short name"), max_length=60,
        error_messages={"required": _("Write your short name, as your manager made it.")},
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "words", "autocorrect": "off", "spellcheck": "false"}
        ),
    )  # fmt: skip
    code = forms.CharField(
        label=_("Your code"), max_length=20, error_messages={"required": _("Type the six digits of your code.")},
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "pattern": "[0-9 \\-]*"}),
    )  # fmt: skip
    is_kept = forms.BooleanField(label=_("This is my phone: keep me signed in on it"), required=False, initial=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    def clean_code(self) -> str:
        """Refuse what cannot be a code before it is counted as a wrong one."""
        code = "".join(sign for sign in str(self.cleaned_data["code"]) if not sign.isspace() and sign not in "-.")
        if not (len(code) == DIGITS and code.isascii() and code.isdecimal()):
            raise ValidationError(_g("A code has six digits. Look at yours and type it again."))
        return code


class PersonForm(forms.Form):
    """Who somebody is on the farm."""

    name = forms.CharField(label=_("Name"), max_length=150, help_text=_("As the others read it on lists."))
    short_name = forms.CharField(
        label=_("Short name"), max_length=LONGEST,
        help_text=_("What this person types to come in: one word, no accents needed."),
    )  # fmt: skip
    role = forms.ChoiceField(
        label=_("Role"), choices=Membership.Role.choices,
        help_text=_("Crew tick and record; viewers only look; managers change everything."),
    )  # fmt: skip
    language = forms.ChoiceField(label=_("Language"), required=False)

    def __init__(self, *args: Any, farm: Farm, membership: Membership | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.farm, self.membership = farm, membership
        first = _g("the phone's, %(language)s in messages") % {"language": farm.get_language_display()}
        self.fields["language"].choices = [("", first), *settings.LANGUAGES]  # type: ignore[attr-defined]

    def without_key(self) -> PersonForm:
        """Ask for no names: this account is not the farm's own."""
        for name in ("name", "short_name"):
            del self.fields[name]
        return self

    def clean_name(self) -> str:
        """Write a name with single spaces."""
        return " ".join(str(self.cleaned_data["name"]).split())

    def clean_short_name(self) -> str:
        """Refuse a name of several words, or one that somebody on the farm bears."""
        name = str(self.cleaned_data["short_name"]).strip()
        if len(name.split()) != 1:
            raise ValidationError(_g("A short name is one word: it is typed with gloves on."))
        if not any(letter.isalnum() for letter in name):
            raise ValidationError(_g("A short name has letters or digits."))
        if folded(name) in names_taken(self.farm, besides=self.membership):
            raise ValidationError(_g("Somebody here is called “%(name)s”. Add a letter or a number.") % {"name": name})
        return name
