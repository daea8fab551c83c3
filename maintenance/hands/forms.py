"""What people say of a task, of the film, and of opening again."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from farm.models import Tunnel
from maintenance.hands.texts import Words
from maintenance.hands.ticking import MOST_MINUTES
from maintenance.models import FilmDecision
from maintenance.words.said import person

REASONS: Final = {
    "broken": Words("something is broken", "algo está roto"),
    "part": Words("a part or tool is missing", "falta una pieza o herramienta"),
    "wind": Words("too much wind already", "ya hay demasiado viento"),
    "alone": Words("it takes two", "hacen falta dos"),
    "way": Words("no way to get there", "no se puede llegar"),
    "other": Words("something else", "otra cosa"),
}


class DoneForm(forms.Form):
    """That a task is done; how long it took, if somebody counted."""

    minutes = forms.IntegerField(label=_("minutes it took"), min_value=0, max_value=MOST_MINUTES, required=False)


class CannotForm(forms.Form):
    """That a task cannot be done, and why."""

    why = forms.ChoiceField(label=_("why not"))
    text = forms.CharField(label=_("in your words"), max_length=200, required=False)

    def __init__(self, *args: Any, language: str | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["why"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101
        field.choices = [(key, words.said(language)) for key, words in REASONS.items()]

    def reason(self, language: str) -> str:
        """Return why, in the farm's language, with the person's own words behind."""
        given = REASONS[self.cleaned_data["why"]].said(language)
        return f"{given}: {self.cleaned_data['text']}" if self.cleaned_data["text"] else given


class PhotoForm(forms.Form):
    """A picture; what is in the file is looked at where it is kept."""

    photo = forms.FileField(label=_("photo"))


class FilmForm(forms.Form):
    """What is decided about a tunnel's film."""

    tunnel = forms.ModelChoiceField(label=_("tunnel"), queryset=Tunnel.objects.none())
    choice = forms.ChoiceField(label=_("decision"), choices=FilmDecision.Choice.choices)
    insurer_told = forms.BooleanField(label=_("the insurer has been told"), required=False)
    note = forms.CharField(label=_("why"), widget=forms.Textarea(attrs={"rows": 3}), max_length=2000, required=False)

    def __init__(self, *args: Any, tunnels: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["tunnel"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101
        field.queryset = tunnels


class ReopenForm(forms.Form):
    """Who opens a tunnel again, and when."""

    owner = forms.ModelChoiceField(label=_("who"), queryset=User.objects.none(), required=False)
    due_at = forms.DateTimeField(
        label=_("open again at"), widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    )

    def __init__(self, *args: Any, people: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["owner"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101
        field.queryset = people
        field.label_from_instance = person  # type: ignore[assignment, method-assign]
        if "due_at" in self.initial:
            self.initial["due_at"] = timezone.localtime(self.initial["due_at"])
