"""Pages of the maintenance app: below a farm, and a few that stand by themselves."""

from django.urls import include, path
from django.urls.resolvers import URLPattern

from maintenance.views import (
    aftermath,
    film,
    fitting,
    job_changes,
    jobs,
    part_sheet,
    parts,
    repairs,
    routines,
    station,
    store,
    storm,
    storm_plan,
    storm_sheet,
    sun,
    weather,
    winds,
    year,
)
from maintenance.views.answer import close_loop
from maintenance.views.feed import calendar_feed
from maintenance.views.health import health
from maintenance.views.reminders import device, reminders, reminders_change
from maintenance.views.worker import service_worker

farm_pages: list[URLPattern] = [
    path("parts/", parts.part_list, name="parts"),
    path("parts/new/", parts.component_new, name="component-new"),
    path("parts/<int:pk>/", part_sheet.component, name="component"),
    path("parts/<int:pk>/change/", parts.component_change, name="component-change"),
    path("parts/<int:pk>/remove/", fitting.component_remove, name="component-remove"),
    path("parts/<int:pk>/replace/", fitting.component_replace, name="component-replace"),
    path("parts/<int:pk>/lay-up/", fitting.component_lay_up, name="component-lay-up"),
    path("due/", jobs.due, name="due"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/done/", jobs.job_done, name="job-done"),
    path("jobs/<int:pk>/change/", job_changes.job_change, name="job-change"),
    path("repairs/", repairs.repair_list, name="repairs"),
    path("repairs/new/", repairs.repair_new, name="repair-new"),
    path("repairs/<int:pk>/", repairs.repair, name="repair"),
    path("repairs/<int:pk>/mend/", repairs.repair_mend, name="repair-mend"),
    path("repairs/<int:pk>/reopen/", repairs.repair_reopen, name="repair-reopen"),
    path("repeats/", repairs.repeat_list, name="repeats"),
    path("storms/", storm.storms, name="storms"),
    path("storms/rules/", storm.storm_rules, name="storm-rules"),
    path("storms/<int:pk>/", storm.storm, name="storm"),
    path("storms/<int:pk>/sheet/", storm_sheet.storm_sheet, name="storm-sheet"),
    path("storms/<int:pk>/tasks/<int:task_pk>/", storm_sheet.storm_task, name="storm-task"),
    path("storms/<int:pk>/plan/", storm_plan.storm_plan, name="storm-plan"),
    path("storms/<int:pk>/film/", storm_plan.storm_film, name="storm-film"),
    path("storms/<int:pk>/open-again/", storm_plan.storm_reopen, name="storm-reopen"),
    path("photos/<int:pk>/", storm_sheet.photo, name="photo"),
    path("storms/<int:pk>/afterwards/", aftermath.aftermath, name="aftermath"),
    path("storms/<int:pk>/afterwards/begin/", aftermath.aftermath_begin, name="aftermath-begin"),
    path("storms/<int:pk>/afterwards/gust/", aftermath.aftermath_gust, name="aftermath-gust"),
    path("storms/<int:pk>/afterwards/<int:finding_pk>/", aftermath.aftermath_finding, name="aftermath-finding"),
    path("storms/<int:pk>/close/", aftermath.storm_close, name="storm-close"),
    path("storms/<int:pk>/file/", aftermath.event_file, name="event-file"),
    path("storms/<int:pk>/file.zip", aftermath.event_zip, name="event-zip"),
    path("storms/learnt/<int:pk>/reset/", aftermath.factor_reset, name="factor-reset"),
    path("storms/learnt/minutes/", aftermath.minutes_accept, name="minutes-accept"),
    path("gusts/", winds.gusts, name="gusts"),
    path("gusts/new/", winds.gust_new, name="gust-new"),
    path("store/", store.store_list, name="store"),
    path("store/move/", store.store_move, name="store-move"),
    path("store/<int:pk>/", store.store_material, name="store-material"),
    path("routines/", routines.routine_list, name="routines"),
    path("routines/new/", routines.routine_new, name="routine-new"),
    path("routines/<int:pk>/", routines.routine, name="routine"),
    path("weather/", weather.weather, name="weather"),
    path("weather/new/", weather.weather_typed, name="weather-typed"),
    path("weather/readings/", station.weather_station, name="weather-station"),
    path("year/", year.year, name="year"),
    path("film/", film.film, name="film-plan"),
    path("sun/", sun.sun_page, name="sun"),
    path("sun/measured/", sun.sun_measured, name="sun-measured"),
    path("reminders/", reminders, name="reminders"),
    path("reminders/change/", reminders_change, name="reminders-change"),
    path("reminders/device/", device, name="push-device"),
]

urlpatterns = [
    path("health/", health, name="health"),
    path("sw.js", service_worker, name="service-worker"),
    path("answer/<str:token>/", close_loop, name="close-loop"),
    path("calendar/<str:token>.ics", calendar_feed, name="calendar-feed"),
    path("farm/<slug:farm_slug>/", include(farm_pages)),
]
