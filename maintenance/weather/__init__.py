"""Weather from outside behind one shape: documents in, forecasts, alerts and readings out; no Django, no network.

Only ``maintenance.weather.client`` goes to the network, and is imported by its own name.
"""

from maintenance.weather.anemometer import read_reading
from maintenance.weather.cap import read_cap
from maintenance.weather.nws import read_gridpoint, read_points
from maintenance.weather.nws_alerts import read_alerts
from maintenance.weather.open_meteo import read_open_meteo
from maintenance.weather.reach import reaches
from maintenance.weather.reasons import FIGURES, MESSAGES, ForecastError, Remark
from maintenance.weather.shapes import (
    Alert,
    Alerts,
    Area,
    Forecast,
    GridAddress,
    Place,
    Reading,
    Spell,
    standing,
)
from maintenance.weather.table import read_table

__all__ = [
    "FIGURES",
    "MESSAGES",
    "Alert",
    "Alerts",
    "Area",
    "Forecast",
    "ForecastError",
    "GridAddress",
    "Place",
    "Reading",
    "Remark",
    "Spell",
    "reaches",
    "read_alerts",
    "read_cap",
    "read_gridpoint",
    "read_open_meteo",
    "read_points",
    "read_reading",
    "read_table",
    "standing",
]
