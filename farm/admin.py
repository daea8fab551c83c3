"""The keeper's pages: farms and who may see them. The rest is changed on the farm's own pages."""

from typing import TYPE_CHECKING

from django.contrib import admin

from farm.models import Farm, Membership

if TYPE_CHECKING:
    MembershipInlineBase = admin.TabularInline[Membership, Farm]
    FarmAdminBase = admin.ModelAdmin[Farm]
else:  # Django's own classes take no types at run time
    MembershipInlineBase = admin.TabularInline
    FarmAdminBase = admin.ModelAdmin

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
