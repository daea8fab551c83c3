"""What to do, in the reader's language: each kind of task and each step of it.

English and Spanish stand side by side because a printed sheet shows both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from doors.sizing import DoorKind
from maintenance.models import StormTask
from maintenance.storm.steps import steps_of
from maintenance.storm.work import Task, TaskKind
from maintenance.words.places import place_of as place_of_repair

LANGUAGES: Final = ("en", "es")
Kind = StormTask.Kind


@dataclass(frozen=True, slots=True)
class Words:
    """One text in both languages."""

    en: str
    es: str

    def said(self, language: str | None = None) -> str:
        """Return the text in a language, the reader's by default."""
        return self.es if (language or get_language() or "en").startswith("es") else self.en


KINDS: Final[Mapping[str, Words]] = MappingProxyType(
    {
        Kind.WALK: Words("Walk round", "Dar la vuelta"),
        Kind.SIDE: Words("Close the side", "Cerrar el lateral"),
        Kind.FILM_DOOR: Words("Close the film door", "Cerrar la puerta de plástico"),
        Kind.WIDE_FILM_DOOR: Words("Close the wide film door", "Cerrar la puerta ancha de plástico"),
        Kind.PERSON_DOOR: Words("Latch the person door", "Cerrar la puerta peatonal"),
        Kind.SLIDING_DOOR: Words("Pin the sliding door", "Asegurar la puerta corrediza"),
        Kind.OTHER_DOOR: Words("Close the door", "Cerrar la puerta"),
        Kind.INFLATION: Words("Set the inflation", "Ajustar el inflado"),
        Kind.SHADE: Words("Take the shade cloth off", "Quitar la malla de sombra"),
        Kind.REPAIR: Words("Repair", "Reparar"),
        Kind.FILM: Words("Decide on the film", "Decidir sobre el plástico"),
    }
)
SIDES: Final[Mapping[str, Words]] = MappingProxyType(
    {"left": Words("left side", "lado izquierdo"), "right": Words("right side", "lado derecho")}
)
STEPS: Final[Mapping[str, Words]] = MappingProxyType(
    {
        "look_clear": Words(
            "Look: bar straight, no ice, nobody under it", "Mirar: barra recta, sin hielo, nadie debajo"
        ),
        "lower_by_crank": Words(
            "Lower it with the crank, never let it run; stand clear of the bar",
            "Bajar con la manivela, nunca soltarla; lejos de la barra",
        ),
        "bar_on_threshold": Words("Bar down on the threshold, film snug", "Barra sobre el umbral, plástico ajustado"),
        "bar_to_ground": Words("Bar right down to the ground", "Barra hasta el suelo"),
        "pins_in": Words(
            "Both bar ends behind the posts, pins in", "Puntas de la barra tras los postes, pasadores puestos"
        ),
        "hold_downs": Words(
            "Hold-downs, from the windward jamb inward", "Anclajes, desde el lado del viento hacia adentro"
        ),
        "cords_even": Words("Cords on, all equally tight", "Cuerdas puestas, todas igual de tensas"),
        "crank_locked": Words("Crank locked, or off and stowed", "Manivela trabada, o quitada y guardada"),
        "side_edges": Words("Spring wire or battens on the side edges", "Alambre o listones en los bordes"),
        "jamb_brace": Words("Brace behind the jamb", "Puntal detrás de la jamba"),
        "photo": Words("Take a photo", "Tomar una foto"),
        "nobody_inside": Words("Nobody inside: call and look", "Nadie adentro: llamar y mirar"),
        "shut": Words("Shut it", "Cerrar"),
        "latch": Words("Latch it", "Poner el pestillo"),
        "pull_test": Words("Pull hard: it must hold", "Tirar fuerte: debe aguantar"),
        "prop": Words("Prop it from inside", "Apuntalar por dentro"),
        "cane_bolts": Words("Bolts down, top and bottom", "Cerrojos arriba y abajo"),
        "brace_bar": Words("Bar across both leaves", "Barra a través de las hojas"),
        "meeting_latch": Words("Latch where the leaves meet", "Pestillo donde se juntan las hojas"),
        "floor_bolt": Words("Bolt into the floor", "Cerrojo al suelo"),
        "bottom_locks": Words("Locks at the bottom, both sides", "Seguros abajo, ambos lados"),
        "seat_panel": Words("Seat the panel", "Encajar el panel"),
        "buttons": Words("Turn every button", "Girar todas las tarabillas"),
        "battens": Words("Battens across", "Listones atravesados"),
        "intake_clear": Words("Intake of the blower clear", "Entrada del soplador libre"),
        "blower_runs": Words("Blower runs, film is full", "Soplador funciona, plástico inflado"),
        "pressure_up": Words("Open the damper: more pressure", "Abrir la compuerta: más presión"),
        "untie": Words("Untie it, lee side first", "Desatar, primero el lado sin viento"),
        "roll_up": Words("Roll it up by two", "Enrollar entre dos"),
        "stow": Words("Stow it indoors", "Guardar bajo techo"),
        "repair": Words("Mend what is named above", "Reparar lo indicado arriba"),
        "stow_loose": Words("Put away what lies loose", "Guardar lo que está suelto"),
        "touch_every_door": Words(
            "Touch every door: down, pinned, cords", "Tocar cada puerta: abajo, pasador, cuerdas"
        ),
        "wire_tails": Words("Tuck in the tails of the wire", "Meter las puntas del alambre"),
        "side_cords": Words("Cords on both sides", "Cuerdas en ambos lados"),
        "decide": Words(
            "Ask your manager: written down before anybody cuts", "Preguntar al jefe: se anota antes de cortar"
        ),
    }
)
_CORE: Final[Mapping[str, TaskKind]] = MappingProxyType(
    {
        Kind.WALK: TaskKind.WALK_ROUND, Kind.SIDE: TaskKind.SIDE, Kind.INFLATION: TaskKind.INFLATION,
        Kind.SHADE: TaskKind.SHADE, Kind.REPAIR: TaskKind.REPAIR,
    }
)  # fmt: skip
_DOORS: Final[Mapping[str, DoorKind]] = MappingProxyType(
    {
        Kind.FILM_DOOR: DoorKind.BOTTOM_BAR, Kind.WIDE_FILM_DOOR: DoorKind.BOTTOM_BAR,
        Kind.PERSON_DOOR: DoorKind.PERSON, Kind.SLIDING_DOOR: DoorKind.SLIDING_PAIR,
        Kind.OTHER_DOOR: DoorKind.HINGED_PAIR,
    }
)  # fmt: skip


def what_of(task: StormTask, language: str | None = None) -> str:
    """Return what is to be done."""
    return KINDS[task.kind].said(language)


def where_of(task: StormTask, language: str | None = None) -> str:
    """Return where: the code of the door, the fault's place and spot, or the tunnel with its side."""
    if task.repair is not None:
        return place_of_repair(task.repair)
    if task.opening is not None:
        return task.opening.code
    if task.side in SIDES:
        return f"{task.tunnel.code}, {SIDES[task.side].said(language)}"
    return task.tunnel.code


def fault_of(task: StormTask) -> str:
    """Return what is broken, for a task that mends it."""
    if task.repair is None:
        return ""
    return _("%(part)s: %(mode)s") % {
        "part": task.repair.get_part_display(), "mode": task.repair.get_mode_display().lower(),
    }  # fmt: skip


def steps_for(task: StormTask, level: int, language: str | None = None) -> list[str]:
    """Return a task's steps in order, at its tunnel's level."""
    return [STEPS[key].said(language) for key in step_keys(task, level)]


def step_keys(task: StormTask, level: int) -> tuple[str, ...]:
    """Return the keys of a task's steps in order, at its tunnel's level."""
    if task.kind == Kind.FILM:
        return ("decide",)
    door = _DOORS.get(task.kind)
    if door is not None and task.opening is not None:
        door = DoorKind(task.opening.kind)
    kind = TaskKind.DOOR if door else _CORE[task.kind]
    return steps_of(Task(structure="", place="", kind=kind, time=0.0, door=door), level)


def level_of(task: StormTask) -> int:
    """Return the level of a task's tunnel as last worked out; the storm's where it is not known."""
    rows = task.storm.facts.get("tunnels", ())
    found = next((row.get("level") for row in rows if row.get("pk") == task.tunnel_id), None)
    return task.storm.level if found is None else int(found)
