"""What hangs on every farm, for the keeper to look up."""

from django.contrib import admin

from doors.models import Component, Door, Material, Sizing, SizingRules
from farm.admin import LookOnlyAdmin


@admin.register(Material)
class MaterialAdmin(LookOnlyAdmin):
    """The books of materials."""

    list_display = ["farm", "code", "kind", "name", "is_in_book"]
    list_display_links = ["code"]
    list_select_related = ["farm"]
    list_filter = ["kind", "is_in_book"]
    search_fields = ["code", "name", "farm__name"]


@admin.register(SizingRules)
class SizingRulesAdmin(LookOnlyAdmin):
    """The farms' own sizing rules."""

    list_display = ["farm", "changes"]
    list_select_related = ["farm"]


@admin.register(Sizing)
class SizingAdmin(LookOnlyAdmin):
    """Every sizing ever kept."""

    list_display = ["farm", "opening", "number", "verdict", "core_version", "made_at"]
    list_display_links = ["number"]
    list_select_related = ["farm", "opening"]
    list_filter = ["verdict", "core_version"]
    search_fields = ["opening__code", "farm__name"]


@admin.register(Door)
class DoorAdmin(LookOnlyAdmin):
    """Doors and what they are made of."""

    list_display = ["farm", "opening", "drive_side", "hung_on"]
    list_display_links = ["opening"]
    list_select_related = ["farm", "opening"]
    search_fields = ["opening__code", "farm__name"]


@admin.register(Component)
class ComponentAdmin(LookOnlyAdmin):
    """Parts, in service and removed."""

    list_display = ["farm", "kind", "spot", "quantity", "fitted_on", "removed_on"]
    list_display_links = ["kind"]
    list_select_related = ["farm"]
    list_filter = ["kind", "removal_reason"]
    search_fields = ["spot", "opening__code", "farm__name"]
