"""Every page of a farm that shows or changes a structure, a door or a material."""

from django.urls import include, path

from doors.views import (
    comparison,
    materials,
    opening_sheet,
    openings,
    plan,
    rules,
    schedule,
    transfer,
    tunnel_sheet,
    tunnels,
    wind,
)

farm_pages = [
    path("", plan.plan, name="plan"),
    path("tunnels/", tunnels.tunnel_list, name="tunnels"),
    path("tunnels/new/", tunnels.tunnel_new, name="tunnel-new"),
    path("tunnels/<int:pk>/", tunnel_sheet.tunnel, name="tunnel"),
    path("tunnels/<int:pk>/change/", tunnels.tunnel_change, name="tunnel-change"),
    path("tunnels/<int:pk>/clone/", tunnels.tunnel_clone, name="tunnel-clone"),
    path("tunnels/<int:pk>/retire/", tunnels.tunnel_retire, name="tunnel-retire"),
    path("end-walls/<int:pk>/change/", tunnels.end_wall_change, name="end-wall-change"),
    path("end-walls/<int:pk>/openings/new/", openings.opening_new, name="opening-new"),
    path("openings/<int:pk>/", opening_sheet.opening, name="opening"),
    path("openings/<int:pk>/wind/", wind.wind, name="opening-wind"),
    path("openings/<int:pk>/calculation/", wind.calculation, name="opening-calculation"),
    path("openings/<int:pk>/change/", openings.opening_change, name="opening-change"),
    path("openings/<int:pk>/kinds/", comparison.opening_kinds, name="opening-kinds"),
    path("openings/<int:pk>/retire/", openings.opening_retire, name="opening-retire"),
    path("openings/<int:pk>/door/", openings.door_change, name="door-change"),
    path("openings/<int:pk>/hang/", openings.door_hang, name="door-hang"),
    path("openings/<int:pk>/sheets/<int:number>/", opening_sheet.sheet, name="sheet"),
    path("doors/", schedule.door_schedule, name="doors"),
    path("materials/", materials.material_list, name="materials"),
    path("materials/new/", materials.material_new, name="material-new"),
    path("materials/<int:pk>/", materials.material_change, name="material-change"),
    path("rules/", rules.sizing_rules, name="sizing-rules"),
    path("farm/", rules.farm_change, name="farm-change"),
    path("import/", transfer.import_start, name="import"),
    path("import/<slug:kind>/", transfer.import_preview, name="import-preview"),
]

urlpatterns = [path("farm/<slug:farm_slug>/", include(farm_pages))]
