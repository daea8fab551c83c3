"""The lists: they print rows already loaded and never query."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.core.paginator import Paginator
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from doors.models import Component, Material, Sizing
from doors.words.book import size_html
from farm.fields import metres
from farm.models import Farm, Opening, Tunnel
from farm.naming import point
from farm.units import MISSING, length_html

MOST_PER_PAGE = 100
SIZE = {"td": {"class": "numeric size"}, "th": {"class": "numeric"}}
NUMERIC = {"td": {"class": "numeric"}, "th": {"class": "numeric"}}


SHORT_KINDS = {"mid_bar": _("mid-height bar"), "bottom_bar": _("bottom bar"), "coil": _("steel coil")}


class RegisterTable(tables.Table):  # type: ignore[misc]  # the library is untyped
    """A list of a farm's rows; whoever asks for a very long page gets a long one."""

    look = "grid stack"

    def __init__(self, *args: Any, farm: Farm, **kwargs: Any) -> None:
        self.farm = farm
        self._printed: dict[Any, SafeString] = {}
        super().__init__(*args, **kwargs)
        for bound in self.columns.iterall():
            # Every cell repeats its column's header for the phone: translate it once, not once a cell.
            bound.column.verbose_name = capfirst(str(bound.column.verbose_name))

    def paginate(self, paginator_class: Any = Paginator, per_page: int | None = None, *args: Any, **kwargs: Any) -> Any:
        capped = min(max(per_page or self._meta.per_page, 1), MOST_PER_PAGE)
        return super().paginate(paginator_class, capped, *args, **kwargs)

    def link(self, page: str, pk: int, text: str) -> SafeString:
        """Return a link to a row's own page."""
        return format_html('<a href="{}">{}</a>', reverse(page, args=[self.farm.slug, pk]), text)

    def length(self, value_mm: Any) -> SafeString:
        """Return a length in the reader's units; a page prints the same few sizes again and again."""
        if value_mm not in self._printed:
            self._printed[value_mm] = length_html(metres(value_mm), self.farm.units)
        return self._printed[value_mm]

    def lengths(self, *values_mm: Any) -> SafeString | str:
        """Return a size such as width by height, or a dash where nothing is known."""
        if any(value is None for value in values_mm):
            return MISSING
        return format_html_join(" × ", "{}", ((self.length(value),) for value in values_mm))


class LengthColumn(tables.Column):  # type: ignore[misc]  # the library is untyped
    """A length in the reader's units, the other in the tooltip."""

    attrs = NUMERIC

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"attrs": NUMERIC, "default": MISSING, **kwargs})

    def render(self, value: Any, table: RegisterTable) -> SafeString:
        return table.length(value)


class DayColumn(tables.Column):  # type: ignore[misc]  # the library is untyped
    """A day; the library's own column compiles a template for each cell."""

    attrs = {"td": {"class": "day"}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"attrs": self.attrs, **kwargs})

    def render(self, value: date) -> str:
        return value.isoformat()


class TunnelTable(RegisterTable):
    """Tunnels."""

    code = tables.Column(verbose_name=_("code"))
    name = tables.Column(verbose_name=_("name"), order_by=("name", "code"))
    shape = tables.Column(verbose_name=_("shape"), order_by=("shape", "code"), default=MISSING)
    width_mm = LengthColumn(verbose_name=_("width"), order_by=("width_mm", "code"))
    length_mm = LengthColumn(verbose_name=_("length"), order_by=("length_mm", "code"))
    ridge_mm = LengthColumn(verbose_name=_("ridge"), order_by=("ridge_mm", "code"))
    axis_bearing_deg = tables.Column(
        verbose_name=_("head end faces"), order_by=("axis_bearing_deg", "code"), default=MISSING
    )
    opening_count = tables.Column(verbose_name=_("openings"), orderable=False, attrs=NUMERIC)
    status = tables.Column(verbose_name=_("status"), order_by=("status", "code"))

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No tunnel fits. Clear the filter, or add a tunnel.")
        order_by = "code"
        per_page = 25

    def render_code(self, record: Tunnel) -> SafeString:
        return self.link("tunnel", record.pk, record.code)

    def render_axis_bearing_deg(self, value: Any) -> str:
        return f"{point(value, '')} {round(value)}°"


def _told(record: Opening) -> str | None:
    """Return the class of what a door's code says anyway; the phone leaves it out."""
    wall = record.end_wall
    says = record.code.startswith(f"{wall.tunnel.code}-{point(wall.bearing_deg, wall.end)}")
    return "told" if says else None


TOLD = {"td": {"class": _told}}


class ScheduleTable(RegisterTable):
    """The door schedule: what hangs or is to hang in each opening."""

    look = "grid stack schedule"

    code = tables.Column(verbose_name=_("door"))
    tunnel = tables.Column(
        verbose_name=_("tunnel"), accessor="end_wall__tunnel__code", order_by=("end_wall__tunnel__code", "code"),
        attrs=TOLD,
    )  # fmt: skip
    wall = tables.Column(
        verbose_name=_("wall"), accessor="end_wall__end", order_by=("end_wall__bearing_deg", "end_wall__end", "code"),
        attrs=TOLD,
    )  # fmt: skip
    kind = tables.Column(verbose_name=_("kind"), order_by=("kind", "code"), attrs={"td": {"class": "kind"}})
    rough = tables.Column(
        verbose_name=_("rough"), accessor="rough_width_mm", attrs=SIZE,
        order_by=("rough_width_mm", "rough_height_mm", "code"),
    )  # fmt: skip
    clear = tables.Column(
        verbose_name=_("clear"), accessor="clear_width_mm", attrs=SIZE, default=MISSING,
        order_by=("clear_width_mm", "clear_height_mm", "code"),
    )  # fmt: skip
    turning_bar = LengthColumn(
        verbose_name=_("turning bar"), accessor="turning_bar_mm", order_by=("turning_bar_mm", "code")
    )
    panel = tables.Column(
        verbose_name=_("film panel"), accessor="panel_width_mm", attrs=SIZE, default=MISSING,
        order_by=("panel_width_mm", "panel_height_mm", "code"),
    )  # fmt: skip
    clamps = tables.Column(
        verbose_name=_("clamps"), accessor="clamp_count", order_by=("clamp_count", "code"), attrs=NUMERIC,
        default=MISSING,
    )  # fmt: skip
    verdict = tables.Column(verbose_name=_("check"), order_by=("verdict", "code"), default=_("not sized"))
    hung_on = DayColumn(verbose_name=_("hung on"), order_by=("hung_on", "code"), default=MISSING)

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No door fits. Clear the filter, or add an opening to a tunnel's end wall.")
        order_by = "code"
        per_page = 25

    def render_code(self, record: Opening) -> SafeString:
        return self.link("opening", record.pk, record.code)

    def render_tunnel(self, record: Opening) -> SafeString:
        return self.link("tunnel", record.end_wall.tunnel_id, record.end_wall.tunnel.code)

    def render_wall(self, record: Opening) -> str:
        return point(record.end_wall.bearing_deg, record.end_wall.end)

    def render_kind(self, record: Opening) -> SafeString | str:
        short = SHORT_KINDS.get(record.kind)
        return (
            format_html('<span title="{}">{}</span>', record.get_kind_display(), short)
            if short
            else (record.get_kind_display())
        )

    def render_rough(self, record: Opening) -> SafeString | str:
        return self.lengths(record.rough_width_mm, record.rough_height_mm)

    def render_clear(self, record: Any) -> SafeString | str:
        return self.lengths(record.clear_width_mm, record.clear_height_mm)

    def render_panel(self, record: Any) -> SafeString | str:
        return self.lengths(record.panel_width_mm, record.panel_height_mm)

    def render_clamps(self, value: int) -> str:
        return str(value) if value else MISSING  # only film doors have any

    def render_verdict(self, value: str) -> SafeString:
        return format_html('<span class="verdict verdict-{}">{}</span>', value, Sizing.Verdict(value).label)


class ComponentTable(RegisterTable):
    """Parts, in service or removed."""

    kind = tables.Column(verbose_name=_("part"), order_by=("kind", "pk"))
    place = tables.Column(verbose_name=_("on"), accessor="pk", order_by=("place_code", "pk"))
    spot = tables.Column(verbose_name=_("where exactly"), order_by=("spot", "pk"), default=MISSING)
    quantity = tables.Column(verbose_name=_("quantity"), order_by=("quantity", "pk"), attrs=NUMERIC)
    material = tables.Column(
        verbose_name=_("material"), accessor="material__name", order_by=("material__name", "pk"), default=MISSING
    )
    fitted_on = DayColumn(verbose_name=_("fitted on"), order_by=("fitted_on", "pk"))
    age = tables.Column(verbose_name=_("age"), accessor="fitted_on", order_by=("-fitted_on", "-pk"), attrs=NUMERIC)
    removed_on = DayColumn(verbose_name=_("removed on"), order_by=("removed_on", "pk"), default=MISSING)

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No part fits. Clear the filter, or log a part.")
        order_by = "-fitted_on"
        per_page = 25

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **kwargs)

    def render_kind(self, record: Component) -> SafeString:
        return self.link("component", record.pk, capfirst(record.get_kind_display()))

    def render_place(self, record: Component) -> str:
        return place_name(record)

    def render_quantity(self, value: Any) -> str:
        return f"{value:f}".rstrip("0").rstrip(".")

    def render_age(self, record: Component) -> str:
        return age(record.fitted_on, record.removed_on or self.today)


class MaterialTable(RegisterTable):
    """The book of materials."""

    code = tables.Column(verbose_name=_("code"))
    kind = tables.Column(verbose_name=_("kind"), order_by=("kind", "code"))
    name = tables.Column(verbose_name=_("name"), order_by=("name", "code"))
    size = tables.Column(
        verbose_name=_("size"), accessor="diameter_mm", order_by=("diameter_mm", "code"), empty_values=()
    )
    stock_length_mm = LengthColumn(verbose_name=_("stock length"), order_by=("stock_length_mm", "code"))
    price = tables.Column(verbose_name=_("price"), order_by=("price", "code"), attrs=NUMERIC, default=MISSING)
    is_in_book = tables.BooleanColumn(verbose_name=_("in use"), order_by=("-is_in_book", "code"))

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No material fits. Clear the filter, or add one.")
        order_by = "code"
        per_page = 25

    def render_code(self, record: Material) -> SafeString:
        return self.link("material-change", record.pk, record.code)

    def render_size(self, record: Material) -> SafeString | str:
        return size_html(record, self.farm.units)

    def render_price(self, record: Material) -> str:
        per = f" / {record.get_price_per_display()}" if record.price_per else ""
        return f"{record.price} {self.farm.currency}{per}"


def place_name(component: Component) -> str:
    """Return where a part sits; its place must be loaded."""
    if component.opening:
        return component.opening.code
    if component.end_wall:
        wall = component.end_wall
        return f"{wall.tunnel.code}-{point(wall.bearing_deg, wall.end)}"
    return component.tunnel.code if component.tunnel else MISSING


def age(since: date, until: date) -> str:
    """Return a part's age in years and months, or in days where it is young."""
    months = (until.year - since.year) * 12 + until.month - since.month - (until.day < since.day)
    if months < 1:
        days = (until - since).days
        return ngettext("%(count)s day", "%(count)s days", days) % {"count": days}
    years, rest = divmod(months, 12)
    parts = [ngettext("%(count)s year", "%(count)s years", years) % {"count": years}] if years else []
    parts += [ngettext("%(count)s month", "%(count)s months", rest) % {"count": rest}] if rest else []
    return " ".join(parts)
