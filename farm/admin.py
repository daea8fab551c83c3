"""The keeper's pages: farms and who may see them. The rest is looked at here, and changed on the farm's pages."""

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.http import HttpRequest

from farm.models import EndWall, Farm, Membership, Opening, Tunnel

if TYPE_CHECKING:
    MembershipInlineBase = admin.TabularInline[Membership, Farm]
    FarmAdminBase = admin.ModelAdmin[Farm]
    AnyAdminBase = admin.ModelAdmin[Any]
else:  # Django's own classes take no types at run time
    MembershipInlineBase = admin.TabularInline
    FarmAdminBase = AnyAdminBase = admin.ModelAdmin

admin.site.site_header = admin.site.site_title = "Gablekeep"


class MembershipInline(MembershipInlineBase):
    """People and their roles, on the farm's page."""

    model = Membership
    extra = 1
    autocomplete_fields = ["user"]


@admin.register(Farm)
class FarmAdmin(FarmAdminBase):
    """A farm and its members."""

    list_display = ["name", "units", "language", "time_zone"]
    prepopulated_fields = {"slug": ["name"]}
    inlines = [MembershipInline]


class LookOnlyAdmin(AnyAdminBase):
    """Rows to look up: a change made here would leave doors that nobody sized again."""

    def has_add_permission(self, request: HttpRequest, *args: Any) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Rows go with their farm only; deleting a farm asks here for each kind of row it takes along."""
        match = request.resolver_match
        return match is not None and match.url_name in ("farm_farm_delete", "farm_farm_changelist")


@admin.register(Tunnel)
class TunnelAdmin(LookOnlyAdmin):
    """Tunnels of every farm."""

    list_display = ["farm", "code", "name", "status"]
    list_display_links = ["code"]
    list_select_related = ["farm"]
    list_filter = ["status"]
    search_fields = ["code", "name", "farm__name"]


@admin.register(EndWall)
class EndWallAdmin(LookOnlyAdmin):
    """End walls of every farm."""

    list_display = ["farm", "tunnel", "end", "bearing_deg", "covering"]
    list_display_links = ["end"]
    list_select_related = ["farm", "tunnel"]
    search_fields = ["tunnel__code", "farm__name"]


@admin.register(Opening)
class OpeningAdmin(LookOnlyAdmin):
    """Openings of every farm."""

    list_display = ["farm", "code", "kind", "rough_width_mm", "rough_height_mm", "retired_on"]
    list_display_links = ["code"]
    list_select_related = ["farm"]
    list_filter = ["kind"]
    search_fields = ["code", "farm__name"]
