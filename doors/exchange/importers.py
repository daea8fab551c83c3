"""How rows of each kind are checked against the farm as it stands, and saved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from doors.book import default_design
from doors.exchange.bookimporters import CountRegister, MaterialRegister, once
from doors.exchange.kinds import COUNTS, MATERIALS, OPENINGS, TUNNELS, Kind
from doors.exchange.transfer import Existing, Line, Register
from doors.models import Component, Door, Material
from farm import limits, services
from farm.forms import placed
from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import next_opening_code, next_tunnel_code, point

BATCH = 500


def register_of(kind: Kind, farm: Farm, today: date, existing: Existing, by: User | None = None) -> Register:
    """Return what checks and saves rows of a kind, which ``by`` brings in."""
    if kind is MATERIALS:
        return MaterialRegister(farm)
    if kind is COUNTS:
        return CountRegister(farm, today, by)
    if kind is TUNNELS:
        return TunnelRegister(farm, today)
    if kind is OPENINGS:
        return OpeningRegister(farm, existing)
    return ComponentRegister(farm, today)


class TunnelRegister:
    """Tunnels by code; each new one gets its two end walls."""

    def __init__(self, farm: Farm, today: date) -> None:
        self.farm, self.today = farm, today
        self.tunnels = {tunnel.code.casefold(): tunnel for tunnel in Tunnel.objects.of(farm).select_related("farm")}
        self.codes = [tunnel.code for tunnel in self.tunnels.values()]
        self.rows: dict[str, int] = {}
        self.openings: dict[int, list[limits.Placed]] = defaultdict(list)
        for opening in Opening.objects.of(farm).in_use().select_related("end_wall"):
            self.openings[opening.end_wall.tunnel_id].append(placed(opening))

    def check(self, line: Line) -> None:
        code = line.values.get("code", "")
        tunnel = line.existing = self.tunnels.get(code.casefold()) if code else None
        if code and not once(line, self.rows, code.casefold(), "code"):
            return
        if tunnel is None and not line.cells.get("name"):
            line.refuse("name", _("Write a name; it is all a tunnel needs."))
        known = {} if tunnel is None else {name: getattr(tunnel, name) for name in limits.ARCH}
        openings = self.openings[tunnel.pk] if tunnel else []
        _refuse(line, TUNNELS, limits.tunnel_errors(known | line.values, openings, self.farm.units))

    def save(self, lines: Sequence[Line]) -> list[int]:
        new, changed = [], []
        for line in lines:
            if line.existing is None:
                self.codes += [line.values["code"]] if line.values.get("code") else []
        for line in lines:
            values = dict(line.values)
            status = values.pop("status", None)
            if line.existing is None:
                if not values.get("code"):
                    values["code"] = next_tunnel_code(self.codes)
                    self.codes.append(values["code"])
                tunnel = Tunnel(farm=self.farm, **values)
                tunnel.status = status or tunnel.status
                tunnel.retired_on = self.today if status == Tunnel.Status.RETIRED else None
                new.append(tunnel)
            else:
                self._update(line.existing, values, status)
                changed.append(line.existing.pk)
        services.add_tunnels(tunnels=new)
        return list(Opening.objects.in_use().filter(end_wall__tunnel__in=changed).values_list("pk", flat=True))

    def _update(self, tunnel: Tunnel, values: Mapping[str, Any], status: str | None) -> None:
        for name, value in values.items():
            setattr(tunnel, name, value)
        if values:
            services.change_tunnel(tunnel=tunnel, columns=list(values))
        if status == Tunnel.Status.RETIRED and tunnel.status != status:
            services.retire_tunnel(tunnel=tunnel, on=self.today)
        elif status and status != tunnel.status:
            if tunnel.status == Tunnel.Status.RETIRED:
                services.restore_tunnel(tunnel=tunnel)
            tunnel.status = status
            tunnel.save(update_fields=["status"])


class OpeningRegister:
    """Openings by code, each in the wall its row names; rows of one file see each other as neighbours."""

    def __init__(self, farm: Farm, existing: Existing) -> None:
        self.farm, self.existing = farm, existing
        self.walls: dict[str, dict[str, EndWall]] = defaultdict(dict)
        for wall in EndWall.objects.of(farm).select_related("tunnel", "farm"):
            names = self.walls[wall.tunnel.code.casefold()]
            names[wall.end.casefold()] = names[point(wall.bearing_deg, wall.end).casefold()] = wall
        rows = list(Opening.objects.of(farm).select_related("end_wall"))
        self.openings = {opening.code.casefold(): opening for opening in rows}
        self.codes = {opening.code for opening in rows}
        self.rows: dict[str, int] = {}
        self.placed: dict[int, dict[object, limits.Placed]] = defaultdict(dict)
        for opening in rows:
            if opening.retired_on is None:
                self.placed[opening.end_wall_id][opening.pk] = placed(opening)

    def check(self, line: Line) -> None:
        wall = self._wall(line)
        code = line.values.get("code", "")
        opening = line.existing = self.openings.get(code.casefold()) if code else None
        if code and not once(line, self.rows, code.casefold(), "code"):
            return
        if opening is None:
            for name in ("rough_width", "rough_height"):
                if not line.cells.get(name):
                    line.refuse(name, _("Write it; an opening needs its rough width and height."))
        elif wall is not None and opening.end_wall_id != wall.pk:
            line.refuse("wall", _("This opening stands in another wall. Give the row a code of its own."))
        if wall is not None and not line.problems:
            self._place(line, wall, opening)

    def _wall(self, line: Line) -> EndWall | None:
        tunnel, name = line.values.get("tunnel", ""), line.values.get("wall", "")
        walls = self.walls.get(tunnel.casefold())
        if not tunnel or not walls:
            line.refuse("tunnel", _("Write the code of a tunnel that is in the register."))
            return None
        wall = walls.get(name.casefold())
        if wall is None:
            known = sorted({point(each.bearing_deg, each.end) for each in walls.values()})
            line.refuse(
                "wall", _("This tunnel has the walls %(walls)s. Write one of them.") % {"walls": ", ".join(known)}
            )
        return wall

    def _place(self, line: Line, wall: EndWall, opening: Opening | None) -> None:
        """Check the row against its wall and what stands there; then it stands there for the rows that follow."""
        line.values["end_wall"] = wall
        names = ("rough_width_mm", "rough_height_mm", "offset_mm", "threshold_mm")
        values: dict[str, Any] = {name: getattr(opening, name) if opening else None for name in names}
        values |= {name: line.values[name] for name in names if name in line.values}
        if opening is not None and (self.existing == "skip" or opening.retired_on is not None):
            return
        key: object = opening.pk if opening else f"row {line.number}"
        others = [other for pk, other in self.placed[wall.pk].items() if pk != key]
        errors = limits.opening_errors(
            values, width=wall.tunnel.width_mm, ridge=wall.tunnel.ridge_mm, others=others, units=self.farm.units
        )
        _refuse(line, OPENINGS, errors)
        if not errors:
            name = opening.code if opening else line.values.get("code") or _("row %(row)s") % {"row": line.number}
            head = values["rough_height_mm"] + (values["threshold_mm"] or 0)
            self.placed[wall.pk][key] = limits.Placed(name, values["offset_mm"], values["rough_width_mm"], head)

    def save(self, lines: Sequence[Line]) -> list[int]:
        new: list[tuple[Opening, str]] = []
        changed = []
        self.codes |= {line.values["code"] for line in lines if line.values.get("code")}
        for line in lines:
            values = {name: value for name, value in line.values.items() if name not in ("tunnel", "wall")}
            side, wall = values.pop("drive_side", ""), values.pop("end_wall")
            if line.existing is None:
                if not values.get("code"):
                    where = point(wall.bearing_deg, wall.end)
                    values["code"] = next_opening_code(wall.tunnel.code, where, self.codes)
                    self.codes.add(values["code"])
                new.append((Opening(farm=self.farm, end_wall=wall, **values), side))
            else:
                self._update(line.existing, values, side)
                changed.append(line.existing.pk)
        Opening.objects.bulk_create([opening for opening, _side in new], batch_size=BATCH)
        self._hang(new)
        return changed + [opening.pk for opening, _side in new]

    def _update(self, opening: Opening, values: Mapping[str, Any], side: str) -> None:
        columns = [name for name in values if name != "code"]
        for name in columns:
            setattr(opening, name, values[name])
        if columns:
            opening.save(update_fields=columns)
        if side:
            Door.objects.filter(opening=opening).update(drive_side=side)

    def _hang(self, new: Sequence[tuple[Opening, str]]) -> None:
        designs = {kind: default_design(self.farm, kind) for kind in {opening.kind for opening, _side in new}}
        Door.objects.bulk_create(
            [
                Door(
                    farm=self.farm, opening=opening, drive_side=side,
                    **{f"{part}_id": pk for part, pk in designs[opening.kind].items()},
                )
                for opening, side in new
            ],
            batch_size=BATCH,
        )  # fmt: skip


class ComponentRegister:
    """Parts; one of the same kind, place, spot and day is the same part."""

    def __init__(self, farm: Farm, today: date) -> None:
        self.farm, self.today = farm, today
        self.walls = OpeningRegister(farm, "skip")
        self.tunnels = {tunnel.code.casefold(): tunnel for tunnel in Tunnel.objects.of(farm)}
        self.materials: dict[str, Material] = {}
        for material in Material.objects.of(farm):
            self.materials |= {material.name.casefold(): material, material.code.casefold(): material}
        self.parts = {self._key(part.__dict__): part for part in Component.objects.of(farm)}
        self.rows: dict[str, int] = {}

    def check(self, line: Line) -> None:
        values = line.values
        for column, name in (("part", "kind"), ("fitted_on", "fitted_on")):
            if name not in values and not line.problems:
                line.refuse(column, _("Write it; a part needs its kind and the day it was fitted."))
        self._place(line)
        material = values.pop("material", "")
        if material:
            values["material"] = self.materials.get(material.casefold())
            if values["material"] is None:
                line.refuse("material", _("Not in the book of materials. Write the code of one that is, or nothing."))
        if line.problems:
            return
        key = self._key(values)
        line.existing = self.parts.get(key)
        if not once(line, self.rows, str(key), "part"):
            return
        self._check_days(line)

    def _place(self, line: Line) -> None:
        """Find the one place a row names: its opening, else its wall, else its tunnel."""
        values = line.values
        tunnel, wall, opening = (values.pop(name, "") for name in ("tunnel", "wall", "opening"))
        values |= {"tunnel_id": None, "end_wall_id": None, "opening_id": None}
        if opening:
            found = self.walls.openings.get(opening.casefold())
            if found is None:
                line.refuse("opening", _("Write the code of an opening that is in the register."))
            values["opening_id"] = found.pk if found else None
        elif wall:
            end_wall = self.walls.walls.get(tunnel.casefold(), {}).get(wall.casefold())
            if end_wall is None:
                line.refuse("wall", _("Write the tunnel's code and the direction its wall faces, such as W."))
            values["end_wall_id"] = end_wall.pk if end_wall else None
        elif tunnel.casefold() in self.tunnels:
            values["tunnel_id"] = self.tunnels[tunnel.casefold()].pk
        else:
            line.refuse("tunnel", _("Write where the part sits: the code of a tunnel or of an opening."))

    def _check_days(self, line: Line) -> None:
        values, old = line.values, line.existing
        removed = values.get("removed_on") or (old.removed_on if old else None)
        reason = values.get("removal_reason") or (old.removal_reason if old else "")
        for name in ("fitted_on", "removed_on"):
            if values.get(name) and values[name] > self.today:
                line.refuse(name, _("This day has not come yet. Write today or an earlier day."))
        if removed and removed < values["fitted_on"]:
            line.refuse("removed_on", _("Removed before it was fitted. Correct one of the days."))
        if removed and not reason:
            line.refuse("why_removed", _("Write why it was removed."))
        if not removed and any((reason, values.get("failure_mode"), values.get("failure_cause"))):
            line.refuse("removed_on", _("Write the day it was removed, or leave out why and how it failed."))
        if values.get("quantity") is not None and values["quantity"] <= 0:
            line.refuse("quantity", _("Write a quantity above 0."))

    @staticmethod
    def _key(values: Mapping[str, Any]) -> tuple[Any, ...]:
        names = ("kind", "tunnel_id", "end_wall_id", "opening_id", "fitted_on")
        return (*(values.get(name) for name in names), str(values.get("spot") or "").casefold())

    def save(self, lines: Sequence[Line]) -> list[int]:
        Component.objects.bulk_create(
            [Component(farm=self.farm, **line.values) for line in lines if line.existing is None], batch_size=BATCH
        )
        for line in lines:
            if line.existing is not None:
                for name, value in line.values.items():
                    setattr(line.existing, name, value)
                line.existing.save(update_fields=[name.removesuffix("_id") for name in line.values])
        return []


def _refuse(line: Line, kind: Kind, errors: Mapping[str, ValidationError]) -> None:
    keys = {column.name: column.key for column in kind.columns}
    for name, error in errors.items():
        line.refuse(keys.get(name, name), " ".join(error.messages))
