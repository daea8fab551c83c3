"""The wind's keys in words: closing states, links of the load path, inputs, and the sentences a reading begins with."""

from __future__ import annotations

import math

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.mechanics.wind import State
from doors.mechanics.wind_data import Enclosure
from doors.wind.gaps import Gap
from doors.wind.reading import FASTEST_SHOWN, SHUT, StateResult, WindReading
from doors.words.names import FIELDS, Words
from farm.units import format_gust

MOST_SHOWN = 9.99  # -; larger utilisations are printed as more than this
STATES: Words = {
    "open": _("Open"),
    "part_open": _("Part open"),
    "closed": _("As closed"),
    "wired": _("With side wires"),
    "tied": _("With side wires and hold-downs"),
}
STATE_NOTES: Words = {
    "open": _(
        "Rolled up, the bar alone is looked at. An open door lets the wind into the house, and what that lifts is "
        "not worked out here: shut doors before a storm."
    ),
    "part_open": _(
        "Half way up nothing holds the lower edge, and a gust strikes the bar like a hammer. Only the bar is looked "
        "at: never leave a door so in wind."
    ),
    "closed": _("Down and tight, but only the lower bar's weight keeps the film's edge where it is."),
    "wired": _("The film is locked at both jambs by spring wire in the channel."),
    "tied": _("Locked at both jambs, and the lower bar tied to the ground."),
}
LINKS: Words = {
    "bar_in_drag": _("roll in the wind"),
    "bar_swings": _("bar swinging free"),
    "bar_struck": _("turning bar, struck by a gust"),
    "bar_inward": _("turning bar against the jamb studs"),
    "sill_bar_inward": _("sill bar against the jamb studs"),
    "stud_inward": _("stud pushed in"),
    "bar_outward": _("turning bar against the anti-billow tubes"),
    "sill_bar_outward": _("sill bar against the anti-billow tubes"),
    "billow_tube": _("anti-billow tube"),
    "tie_rod": _("tie rod and washer"),
    "tube_in_soil": _("tube in the soil"),
    "tube_leans": _("tube leaning in the soil"),
    "header_inward": _("header pushed in"),
    "header_outward": _("header sucked out"),
    "hold_down_sideways": _("hold-downs, sideways"),
    "film": _("film"),
    "header_screws": _("channel screws in the header"),
    "bar_clamps": _("clamps on the turning bar"),
    "sill_screws": _("channel screws in the sill bar"),
    "jamb_screws": _("channel screws in the jambs"),
    "jamb_outward": _("jamb sucked out"),
    "jamb_at_header": _("jamb pulled out by the header"),
    "jamb_pulled_in": _("jambs pulled together"),
    "lower_bar_lifts": _("lower bar lifting"),
    "lower_bar_bows": _("lower bar bowing up"),
    "lower_bar_bends_up": _("lower bar between the hold-downs"),
    "hold_down_up": _("hold-downs, upward"),
}
LINK_NOTES: Words = {
    "bar_in_drag": _("The wind drags on the roll and bends the bar between its ends."),
    "bar_swings": _("The bar swings out further than 30 degrees and begins to flail."),
    "bar_struck": _("The slack film lets go at once; the bar bends as under twice the steady load."),
    "bar_inward": _("Pushed in, the bar leans on the studs and bends between them until it stays bent."),
    "sill_bar_inward": _("Pushed in, the sill bar bends between the studs until it stays bent."),
    "stud_inward": _("The inner stud or jamb loaded most bends between the ground and its top."),
    "bar_outward": _("Sucked out, the bar leans on the anti-billow tubes and bends between them."),
    "sill_bar_outward": _("Sucked out, the sill bar bends between what holds it."),
    "billow_tube": _("The tube bends between its tie rod and the ground."),
    "tie_rod": _("The rod yields, or its washer sinks into the header."),
    "tube_in_soil": _("The foot of the tube is torn out of the ground sideways."),
    "tube_leans": _("The soil is pressed to twice what the code allows it: expect the foot to move, not to come out."),
    "header_inward": _("Film and inner studs bend the header inward while the film pulls it down."),
    "header_outward": _("Film and inner rods bend the header outward while the film pulls it down."),
    "hold_down_sideways": _("Hooks or straps hold the lower bar against the film's whole pull, out and up."),
    "film": _("The film is stretched beyond what springs back."),
    "header_screws": _("Screws of the film channel are drawn out of the header."),
    "bar_clamps": _("The clamp's screw is drawn out of the bar."),
    "sill_screws": _("Screws of the film channel tilt and tear the sill bar's wall."),
    "jamb_screws": _("Screws of the film channel are drawn out of the jamb."),
    "jamb_outward": _("Film locked at both sides bends the jamb outward between the ground and its top."),
    "jamb_at_header": _("The header and the rod at its end pull the jamb outward below where its top is held."),
    "jamb_pulled_in": _("Film locked at both sides pulls the jambs towards each other."),
    "lower_bar_lifts": _("The film's pull is more than what hangs on it: the edge comes up and flaps."),
    "lower_bar_bows": _(
        "Held at the jambs only, the lower bar bows up between them and the film slackens. A wide door's bar can stay "
        "bent."
    ),
    "lower_bar_bends_up": _("The film bends the lower bar up between two hold-downs."),
    "hold_down_up": _("The film pulls the hook or strap upward."),
}
ENCLOSURES: Words = {
    Enclosure.ENCLOSED: _("everything else shut"),
    Enclosure.PARTLY_ENCLOSED: _("another opening stands open"),
}
INPUTS: Words = {
    **FIELDS,
    "stud_depth": _("depth of the jamb studs through the wall"),
    "soil": _("the farm's soil"),
    "film_age": _("rated life of the door's film"),
}


def link_name(key: str) -> str:
    """Return what the trade calls a link."""
    return str(LINKS.get(key, key.replace("_", " ")))


def state_name(state: State | str) -> str:
    """Return a closing state's name."""
    return str(STATES[str(state)])


def gust_text(gust: float, units: str) -> str:
    """Return a gust that a part stands; beyond any use as a figure, that it is more."""
    if math.isnan(gust):
        return gettext("not known")
    if gust > FASTEST_SHOWN:
        return gettext("more than %(gust)s") % {"gust": format_gust(FASTEST_SHOWN, units)}
    return format_gust(gust, units, is_limit=True)


def limit_text(state: StateResult, units: str) -> str:
    """Return what a closing state stands; an open door has no limit to lean on, whatever its bar may bear."""
    return gust_text(state.limit, units) if state.state in SHUT else gettext("not for wind: shut it first")


def share_text(share: float) -> str:
    """Return a utilisation in per cent."""
    if math.isnan(share):
        return gettext("not known")
    if share > MOST_SHOWN:
        return gettext("over %(share)s %%") % {"share": 999}
    return f"{share * 100:.0f} %" if share >= 0.005 else "0 %"


def standing_text(reading: WindReading, units: str) -> str:
    """Return in words what gusts the door is expected to stand, as closed and better secured."""
    closed, *better = [one for one in reading.states if one.state in SHUT]
    return " ".join([_as_closed(closed, reading, units), *([_secured(better, closed, units)] if better else [])])


def _as_closed(closed: StateResult, reading: WindReading, units: str) -> str:
    if closed.limit == 0:
        return gettext("The film is past twice its rated life and counts for nothing: replace it before any wind.")
    if closed.is_known:
        words = {"gust": gust_text(closed.limit, units), "link": _first(closed)}
        return (
            gettext("As closed it is expected to stand gusts up to %(gust)s at the door; %(link)s gives first.") % words
        )
    lacking = ", ".join(str(INPUTS[gap.field]) for gap in reading.gaps)
    text = gettext("What it stands as closed is not known. Missing: %(lacking)s.") % {"lacking": lacking}
    if closed.weakest is None or closed.weakest.gust > FASTEST_SHOWN:
        return text
    bound = {"gust": gust_text(closed.weakest.gust, units), "link": _first(closed)}
    return f"{text} {gettext('It is not more than %(gust)s: %(link)s gives there.') % bound}"


def _secured(better: list[StateResult], closed: StateResult, units: str) -> str:
    """Return what side wires and hold-downs make of it; the link only where another one gives first."""
    parts, before = [], closed
    for one in better:
        text = gettext("%(state)s %(gust)s") % {"state": _with(one.state), "gust": gust_text(one.limit, units)}
        if one.first_added is not None:
            link = link_name(one.first_added.link.name)
            text = gettext("%(text)s (no more: %(link)s gives sooner)") % {"text": text, "link": link}
        elif one.is_known and _first(one) != _first(before):
            text = gettext("%(text)s (%(link)s)") % {"text": text, "link": _first(one)}
        parts.append(text)
        before = one
    listed = ", ".join(parts)
    return f"{listed[:1].upper()}{listed[1:]}."


def flapping_text(reading: WindReading, units: str) -> str:
    """Return in words from which gusts the shut door flaps, or that it does not."""
    parts = []
    for one in reading.states:
        if one.state not in SHUT:
            continue
        words = {"state": _with(one.state), "gust": gust_text(one.flaps, units)}
        if math.isnan(one.flaps):
            parts.append(gettext("%(state)s not known") % words)
        else:
            never, above = gettext("%(state)s never"), gettext("%(state)s from %(gust)s")
            parts.append((never if math.isinf(one.flaps) else above) % words)
    return gettext("It begins to flap or work loose: %(states)s.") % {"states": ", ".join(parts)}


def forecast_text(reading: WindReading, units: str) -> str:
    """Return the forecast that brings the gusts the door stands."""
    limits = [(one, one.limit) for one in reading.states if one.state in (State.CLOSED, reading.secured.state)]
    known = [(one, limit) for one, limit in limits if limit <= FASTEST_SHOWN]
    if not known:
        return ""
    parts = [f"{_with(one.state)} {gust_text(reading.forecast(limit), units)}" for one, limit in known]
    return gettext("Forecast gusts (3 s, 10 m up, open country) that bring as much to this door: %(gusts)s.") % {
        "gusts": ", ".join(parts)
    }


def gap_text(gap: Gap) -> str:
    """Return which input is missing and which links it leaves unknown."""
    name = str(INPUTS[gap.field])
    links = ", ".join(link_name(key) for key in gap.links)
    return gettext("%(field)s is missing; not known without it: %(links)s.") % {
        "field": name[:1].upper() + name[1:],
        "links": links,
    }


def _first(state: StateResult) -> str:
    return link_name(state.weakest.link.name) if state.weakest else gettext("nothing")


def _with(state: State) -> str:
    return {
        State.CLOSED: gettext("as closed"),
        State.WIRED: gettext("with side wires"),
        State.TIED: gettext("with hold-downs too"),
    }[state]
