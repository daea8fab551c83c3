"""Time: routines and the jobs they open, faults and repairs, weather and storms, messages to people."""

from maintenance.models.faults import NearMiss, Repair, ScrewCheck
from maintenance.models.field import FieldEntry, Label, Photo, VoiceNote
from maintenance.models.health import Heartbeat
from maintenance.models.lines import ClosingLine, StormRound
from maintenance.models.messages import CalendarFeed, Contact, PushSubscription, Reminder
from maintenance.models.storms import (
    FilmDecision,
    Reopening,
    Storm,
    StormFinding,
    StormLook,
    StormPerson,
    StormRules,
    StormTask,
    TunnelFactor,
)
from maintenance.models.upkeep import Job, JobEvent, JobPart, Plan, PlanRound, Routine, Turn
from maintenance.models.weather import (
    Climate,
    DoorUse,
    Forecast,
    SunDay,
    WeatherAlert,
    WeatherCell,
    WeatherSource,
    WindDay,
    WindReading,
    WorkHours,
)

__all__ = [
    "CalendarFeed",
    "Climate",
    "ClosingLine",
    "Contact",
    "DoorUse",
    "FieldEntry",
    "FilmDecision",
    "Forecast",
    "Heartbeat",
    "Job",
    "JobEvent",
    "JobPart",
    "Label",
    "NearMiss",
    "Photo",
    "Plan",
    "PlanRound",
    "PushSubscription",
    "Reminder",
    "Reopening",
    "Repair",
    "Routine",
    "ScrewCheck",
    "Storm",
    "StormFinding",
    "StormLook",
    "StormPerson",
    "StormRound",
    "StormRules",
    "StormTask",
    "SunDay",
    "TunnelFactor",
    "Turn",
    "VoiceNote",
    "WeatherAlert",
    "WeatherCell",
    "WeatherSource",
    "WindDay",
    "WindReading",
    "WorkHours",
]
