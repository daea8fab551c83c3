"""How a member wants to be told: the form, and the device that a browser offers."""

from __future__ import annotations

import binascii
import ipaddress
from base64 import urlsafe_b64decode
from typing import Any, ClassVar, Final
from urllib.parse import urlsplit

from cryptography.hazmat.primitives.asymmetric import ec
from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.formbase import Group, RegisterForm
from farm.models import Farm, Membership
from maintenance.messages.contacts import contact_of
from maintenance.models import Contact

AUTH_BYTES: Final = 16  # RFC 8291, 3.2


class ClockField(forms.TimeField):
    """A time of day; the browser offers its own clock."""

    widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})


class WishForm(RegisterForm):
    """A member's own wishes: ways, hours, language and units."""

    language = forms.ChoiceField(label=gettext_lazy("language"), required=False)
    units = forms.ChoiceField(label=gettext_lazy("units"), required=False)
    digest_at = ClockField(label=gettext_lazy("morning list at"))
    quiet_from = ClockField(label=gettext_lazy("quiet from"))
    quiet_until = ClockField(label=gettext_lazy("quiet until"))

    groups: ClassVar[tuple[Group, ...]] = (
        Group(gettext_lazy("How"), ("by_email", "email", "by_push")),
        Group(
            gettext_lazy("When"), ("has_digest", "digest_at", "quiet_from", "quiet_until"),
            gettext_lazy("By the farm's clock. In quiet hours only what is dangerous comes through; the rest waits."),
        ),
        Group(gettext_lazy("In which words"), ("language", "units")),
    )  # fmt: skip

    class Meta:
        model = Contact
        fields = ("email", "by_email", "by_push", "digest_at", "has_digest", "quiet_from", "quiet_until")

    def __init__(self, *args: Any, membership: Membership, **kwargs: Any) -> None:
        self.membership = membership
        farm = Farm.objects.get(pk=membership.farm_id)  # not the one of the page: that has this member's units
        chosen = {"language": membership.language, "units": membership.units, **kwargs.pop("initial", {})}
        super().__init__(*args, farm=farm, instance=contact_of(membership), initial=chosen, **kwargs)
        self._offer("language", settings.LANGUAGES, farm.get_language_display())
        self._offer("units", Farm.Units.choices, farm.get_units_display())
        account = membership.user.email
        told = _("Empty: %(address)s, from your account.") if account else _("Your account has none: write one here.")
        self.fields["email"].help_text = told % {"address": account} if account else told
        self.fields["by_push"].label = _("alerts on my devices")
        self.fields["quiet_until"].help_text = _("The same time twice: no quiet hours.")

    def _offer(self, name: str, choices: Any, usual: str) -> None:
        field = self.fields[name]
        as_farm = _("as the farm: %(usual)s") % {"usual": usual}
        field.choices = [("", as_farm), *choices]  # type: ignore[attr-defined]  # a ChoiceField

    def clean(self) -> dict[str, Any]:
        """Refuse mail to nowhere."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        has_address = cleaned.get("email") or self.membership.user.email
        if cleaned.get("by_email") and not has_address and "email" not in self.errors:
            self.add_error("email", _("Write an address, or turn e-mail off."))
        return cleaned

    def keep(self) -> None:
        """Save the wishes, and the language and units with the membership."""
        self.save()
        self.membership.language = self.cleaned_data["language"]
        self.membership.units = self.cleaned_data["units"]
        self.membership.save(update_fields=["language", "units"])


class DeviceForm(forms.Form):
    """What a browser says of its subscription (Push API): where to send, and the keys to encrypt for it."""

    endpoint = forms.URLField(max_length=1000, assume_scheme="https")
    p256dh = forms.CharField(max_length=200)
    auth = forms.CharField(max_length=100)
    device = forms.CharField(max_length=120, required=False)

    def clean_endpoint(self) -> str:
        """Refuse what is no push service: this server must not be sent to call its neighbours."""
        endpoint = str(self.cleaned_data["endpoint"])
        url = urlsplit(endpoint)
        if url.scheme != "https" or not _is_public(url.hostname or "") or url.username:
            raise ValidationError(_("A push service has an address that begins with https://."))
        return endpoint

    def clean_p256dh(self) -> str:
        """Refuse a key that is no point of P-256."""
        text = str(self.cleaned_data["p256dh"])
        try:
            ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), _octets(text))
        except (ValueError, binascii.Error) as error:
            raise ValidationError(_("The browser's key cannot be read. Turn alerts on again.")) from error
        return text

    def clean_auth(self) -> str:
        """Refuse a secret of another length."""
        text = str(self.cleaned_data["auth"])
        try:
            octets = _octets(text)
        except (ValueError, binascii.Error):
            octets = b""
        if len(octets) != AUTH_BYTES:
            raise ValidationError(_("The browser's secret cannot be read. Turn alerts on again."))
        return text


def _octets(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def _is_public(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_global
    except ValueError:
        return "." in host.strip(".") and not host.endswith((".local", ".localhost", ".internal"))
