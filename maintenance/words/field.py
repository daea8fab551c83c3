"""What the crew's page says by itself, in every language at once: the page is kept on phones of either.

Braces are filled in on the phone. A text about a number comes in two forms, ``…_one`` and ``…_many``.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

FRAME: Final[Mapping[str, Text]] = {
    "title": _("Crew page"),
    "start": _("Today"),
    "which_door": _("Which door?"),
    "all_sent": _("All sent"),
    "unsent_one": _("1 not sent"),
    "unsent_many": _("{n} not sent"),
    "sheets": _("All sheets of the farm"),
    "log_out": _("Log out"),
    "log_out_unsent": _("Not everything is sent. It stays on this phone and goes when you sign in again. Log out now?"),
    "log_out_offline": _("The farm is off this phone. Where there is signal, log out once more to end the sign-in."),
    "sign_in": _("Sign in"),
    "sign_in_to_send": _("Sign in to send. Nothing is lost."),
    "loading": _("The farm is on its way…"),
    "no_data": _("This phone has no doors of the farm yet. Open this page once where there is signal."),
    "not_signed_in": _("Nobody is signed in on this phone."),
    "not_member": _("You are not at this farm. Sign in as somebody who is."),
    "data_of": _("The farm as of {time}."),
    "ready": _("Works without signal."),
    "not_ready": _("Works only with signal: this address is not https."),
    "install": _("Put on the home screen"),
    "install_hint": _("On this phone: Share, then “Add to Home Screen”. Then the page stays, also without signal."),
    "viewer": _("You may look here, but not write. Ask your manager for the role of crew."),
    "cautions": _("Local codes and licensed practice come first."),
    "estimates": _("Hours and gusts are planning estimates; look up at the sky, and stop when it does not feel right."),
    "full": _("This phone has no room left. Delete something else, then tap again: this is not saved."),
    "no_store": _("This browser keeps nothing. Leave private browsing, or use another browser."),
    "gone": _("That is not on this phone. Choose a door."),
}
PLACES: Final[Mapping[str, Text]] = {
    "storm_sheet": _("My storm sheet"),
    "storm_left_one": _("1 thing to do"),
    "storm_left_many": _("{n} things to do"),
    "storm_by": _("Done by {time}"),
    "storm_start": _("Start by {time}"),
    "jobs": _("My jobs"),
    "no_jobs": _("No jobs for today."),
    "others_jobs": _("Jobs of others, or of nobody"),
    "danger": _("DANGER"),
    "danger_keep_out": _("Danger: keep out"),
    "danger_waits": _("Said on this phone, not sent yet."),
    "since": _("since {time}"),
    "near_miss": _("Near miss"),
    "in_the_round": _("Next in the round"),
    "nearby": _("Near the last one"),
    "last_used": _("Last used"),
    "tunnel": _("Tunnel {code}"),
    "whole_tunnel": _("The tunnel itself"),
    "find": _("Find"),
    "label_unknown": _("This square is not known on this phone. Tap what it is about, or choose the door."),
    "label_place": _("Square {token}"),
    "secured": _("Secured"),
    "fixed": _("Fixed"),
    "needs_part": _("Needs a part"),
    "danger_kind": _("Danger: keep out"),
    "cannot": _("Cannot be done"),
    "checked": _("Second look"),
    "job_done": _("Job done"),
    "details": _("Details"),
    "parts": _("Parts"),
    "fitted": _("fitted {date}"),
    "last_repairs": _("Last repairs"),
    "no_repairs": _("No repairs so far."),
    "mended_which": _("What did you fix?"),
    "something_else": _("Something else"),
    "photo": _("Photo"),
    "no_photo": _("No photo"),
    "danger_goes": _("Your manager is told at once, and the place is marked for everybody."),
}
WORK: Final[Mapping[str, Text]] = {
    "saved": _("Saved"),
    "saved_here": _("It is on this phone and goes by itself."),
    "sent": _("Sent"),
    "undo": _("Undo"),
    "undone": _("Taken back. Nothing was sent."),
    "too_late": _("It is on its way already. Tell your manager."),
    "add_photo": _("One more photo"),
    "photo_one": _("1 photo"),
    "photo_many": _("{n} photos"),
    "photo_not_read": _("This picture could not be read. Take another one."),
    "photos_most": _("Six photos are the most for one entry."),
    "next_door": _("Next door"),
    "how_shows": _("How does it show?"),
    "which_part": _("Which part?"),
    "not_said": _("Not said"),
    "parts_used": _("Parts used from the store"),
    "left": _("{n} {unit} left"),
    "another_part": _("Another part"),
    "how_many": _("How many"),
    "minutes": _("Minutes it took"),
    "in_words": _("In your words"),
    "voice": _("Speak"),
    "voice_stop": _("Stop ({n} s)"),
    "voice_kept": _("Spoken note, {n} s"),
    "voice_not": _("The microphone is not free, or not allowed. Write it instead."),
    "keep_details": _("Save the details"),
    "details_kept": _("The details are saved."),
    "bad_number": _("Write a number from 0 to {most}."),
    "done": _("Done"),
    "how": _("How"),
    "for_others": _("For others, or for nobody yet"),
    "second_look": _("Second look"),
    "second_look_how": _("Walk round what others shut. Touch each one: down, pinned, cords, wire tails."),
    "it_holds": _("It holds"),
    "why_not": _("Why not?"),
    "windward": _("windward"),
    "critical": _("critical"),
    "by_two": _("by two"),
    "with": _("with {who}"),
    "about_minutes": _("about {n} min"),
    "nothing_left": _("Nothing is left for you."),
    "no_storm": _("No storm is coming."),
    "job": _("Job"),
    "until": _("by {date}"),
    "checklist": _("Checklist"),
    "each_screw": _("Each screw"),
    "others_tight": _("All others tight"),
    "tight": _("tight"),
    "turned": _("turned"),
    "spun": _("spun"),
    "missing": _("missing"),
    "job_is_done": _("It is done"),
    "miss_what": _("What nearly happened?"),
    "miss_where": _("Where?"),
    "miss_nowhere": _("Not said"),
    "miss_named": _("With my name"),
    "miss_nameless": _("Without a name"),
    "miss_how": _("Without a name, nothing that is kept leads to you. Do not write your name yourself."),
    "miss_needs": _("Say in a few words what happened."),
    "keep": _("Save"),
}
SENDING: Final[Mapping[str, Text]] = {
    "not_sent": _("Not sent"),
    "nothing_waits": _("Everything is sent."),
    "send_now": _("Send now"),
    "sending": _("Sending…"),
    "old_one": _("1 entry waits for more than a day. Go where there is signal and open this page."),
    "old_many": _("{n} entries wait for more than a day. Go where there is signal and open this page."),
    "sent_lately": _("Sent lately"),
    "why_new": _("Goes in a moment."),
    "why_offline": _("No signal. It goes by itself later."),
    "why_signin": _("Nobody is signed in. Sign in to send."),
    "why_person": _("Made by {name}. It goes when {name} is signed in here."),
    "why_server": _("The farm's computer did not take it. It is tried again."),
    "why_refused": _("The farm's computer refused it: {said}"),
    "why_odd": _("Something else than the farm's computer answered. Is this a network with a sign-in page of its own?"),
    "why_first": _("Goes after its entry."),
    "state_beside": _("Kept beside what stood there already."),
    "state_unread": _("Kept, but not understood. Your manager looks at it."),
    "voice_note": _("Spoken note"),
}
ALL: Final = {**FRAME, **PLACES, **WORK, **SENDING}


@cache
def in_every_language() -> dict[str, dict[str, str]]:
    """Return every text by language and key."""
    words = {}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            words[language] = {key: str(text) for key, text in ALL.items()}
    return words
