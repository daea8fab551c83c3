"""When the weather lets people work: windows in a forecast, and what stands in the way of one."""

from maintenance.calm.height import wind_at_two_metres
from maintenance.calm.needs import Needs, Spell
from maintenance.calm.times import Interval
from maintenance.calm.windows import HoldUps, Window, calm_windows, hold_ups

__all__ = ["HoldUps", "Interval", "Needs", "Spell", "Window", "calm_windows", "hold_ups", "wind_at_two_metres"]
