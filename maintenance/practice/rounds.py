"""Rounds of the week and the season: the walk past, the blower, shade, snow tools, and what the farm orders."""

from __future__ import annotations

from typing import Any, Final

from maintenance.practice.needs import Need
from maintenance.practice.starter import NO_SOURCE, OUR_OWN, Part, Rhythm, Season, Starter, Target, Trigger, mph

MONDAYS: Final = "FREQ=WEEKLY;BYDAY=MO"
SHADE: Final[dict[str, Any]] = {
    "target": Target.COMPONENT,  # a cloth that is down for the season is still in service
    "kinds": (Part.SHADE,),
    "trigger": Trigger.SEASON,
    "window_days": 7,
    "tools": (("ropes", "cuerdas"), ("clips", "broches"), ("step ladder and helper", "escalera de tijera y ayudante")),
    "most_gust_m_s": mph(20),
    "needs_daylight": True,
}
NO_WIRES: Final = ("No power lines near ropes or ladder.", "Ningún cable cerca de cuerdas o escalera.")
STOP_CLOTH: Final = ("Stop when gusts pass {gust:8.9408}.", "Pare si las ráfagas pasan de {gust:8.9408}.")

STARTERS: Final = (
    Starter(
        code="weekly-walk",
        name=("Walk past all tunnels", "Recorrer todos los túneles"),
        why=(
            "Half an hour a week finds the loose wire before the wind does.",
            "Media hora a la semana halla el resorte suelto antes que el viento.",
        ),
        rhythm=Rhythm.DAILY,
        target=Target.FARM,
        trigger=Trigger.CALENDAR,
        rule=MONDAYS,
        window_days=6,
        minutes=30,
        tools=(("repair tape", "cinta de reparación"), ("pliers", "pinzas")),
        checklist=(
            ("Spring wire: an end hanging out? Push it in.", "Resorte: ¿una punta suelta? Métala."),
            ("Cords: slack or frayed?", "Cuerdas: ¿flojas o gastadas?"),
            ("Film: new hole? Tape it.", "Plástico: ¿hoyo nuevo? Ponga cinta."),
            ("Shade cloth: a corner loose? Tie it.", "Malla sombra: ¿esquina suelta? Amárrela."),
            ("Every latch shut. Nothing loose around.", "Todo pestillo cerrado. Nada suelto alrededor."),
            ("Report what you could not fix.", "Avise lo que no pudo arreglar."),
        ),
        source=f"{NO_SOURCE}; time: {OUR_OWN}",
    ),
    Starter(
        code="blower-weekly",
        name=("Inflation blower", "Soplador de la doble capa"),
        why=(
            "Two layers without air flap, chafe and tear.",
            "Dos capas sin aire se sacuden, se rozan y se rompen.",
        ),
        rhythm=Rhythm.DAILY,
        target=Target.TUNNEL,
        needs=(Need.TWO_LAYERS,),
        trigger=Trigger.CALENDAR,
        rule=MONDAYS,
        window_days=6,
        minutes=5,
        tools=(("manometer", "manómetro"),),
        checklist=(
            ("Blower runs. No odd noise.", "El soplador anda. Sin ruido raro."),
            ("Intake clear of leaves and dirt.", "Entrada de aire sin hojas ni tierra."),
            ("Film firm, no ripples.", "Plástico firme, sin arrugas."),
            ("Read the pressure. Write it down.", "Lea la presión. Anótela."),
            ("Unplug it before you touch inside.", "Desconéctelo antes de meter la mano."),
        ),
        source=f"Pressure: Bartok, Cornell Vegetable Program, 2014; weekly and five minutes: {NO_SOURCE}",
    ),
    Starter(
        code="shade-on",
        name=("Shade cloth on", "Poner la malla sombra"),
        why=(
            "Shade before the great heat spares the crop and the people under it.",
            "La sombra antes del calor fuerte cuida al cultivo y a la gente.",
        ),
        season=Season.SUMMER,
        offset_days=-7,
        minutes=90,
        crew=3,
        waits_for=("roof-film-age", "film-tape"),
        checklist=(
            STOP_CLOTH,
            NO_WIRES,
            ("Look for torn grommets first.", "Busque antes ojillos rotos."),
            ("Pull the cloth over with ropes.", "Jale la malla con cuerdas."),
            ("Tie every grommet. Tight, no flapping.", "Amarre cada ojillo. Tenso, que no golpee."),
            ("Doors and sides still move freely?", "¿Puertas y cortinas se mueven bien?"),
        ),
        source=f"University of Missouri Extension: on at the end of May; time and people: {NO_SOURCE}",
        **SHADE,
    ),
    Starter(
        code="shade-off",
        name=("Shade cloth off", "Quitar la malla sombra"),
        why=(
            "Cloth left on catches wind and wet snow and can bring the tunnel down.",
            "La malla puesta atrapa viento y nieve mojada y puede tumbar el túnel.",
        ),
        season=Season.AUTUMN,
        offset_days=23,
        minutes=60,
        crew=2,
        checklist=(
            STOP_CLOTH,
            NO_WIRES,
            ("Untie the lee side last.", "Desamarre al final el lado sin viento."),
            ("Let it slide down. Do not pull on film.", "Deje que baje. No jale el plástico."),
            ("Dry it, roll it, tag it with the tunnel.", "Séquela, enróllela, póngale el túnel."),
            ("Note torn grommets.", "Anote los ojillos rotos."),
        ),
        source=f"University of Missouri Extension: off at the end of September; time and people: {NO_SOURCE}",
        **SHADE,
    ),
    Starter(
        code="props-autumn",
        name=("Props, snow tools and spares in place", "Puntales y herramienta de nieve en su lugar"),
        why=(
            "Nobody finds a prop in the dark under snow.",
            "Nadie encuentra un puntal de noche bajo la nieve.",
        ),
        target=Target.FARM,
        trigger=Trigger.SEASON,
        season=Season.AUTUMN,
        offset_days=45,
        window_days=30,
        minutes=180,
        crew=2,
        tools=(("props with feet", "puntales con base"), ("soft brooms", "escobas suaves"), ("rope", "cuerda")),
        checklist=(
            ("Props ready beside the tunnels.", "Puntales listos junto a los túneles."),
            ("Soft brooms and ropes, no sharp tools.", "Escobas suaves y cuerdas, nada filoso."),
            ("Spare film, tape, lights, batteries.", "Plástico, cinta, lámparas, pilas."),
            ("Clear the strip beside each tunnel.", "Despeje la franja junto a cada túnel."),
            ("Tell everybody where things are.", "Diga a todos dónde está cada cosa."),
        ),
        source="Bartok and others on snow, 2013; two to four hours: common practice, no source",
    ),
    Starter(
        code="order-film",
        name=("Order film for this year", "Pedir el plástico de este año"),
        why=(
            "Film, tube and clamps take weeks to come; a new sheet in store helps in a storm, too.",
            "Plástico, tubo y abrazaderas tardan semanas; un plástico guardado también ayuda en una tormenta.",
        ),
        target=Target.FARM,
        trigger=Trigger.SEASON,
        season=Season.SPRING,
        window_days=31,
        minutes=60,
        checklist=(
            ("List the sheets that end this year.", "Anote los plásticos que terminan este año."),
            ("Count what is in store.", "Cuente lo que hay en bodega."),
            ("Add one door sheet for each door width.", "Sume un plástico por cada ancho de puerta."),
            ("Add spare clamps and screws.", "Sume abrazaderas y tornillos de repuesto."),
            ("Order. Note the day it should come.", "Haga el pedido. Anote el día de entrega."),
        ),
        source="Dawling, 2015, on ordering early; weeks of lead time and the hour: common practice, no source",
    ),
    Starter(
        code="paper-season",
        name=("Budget, ages and papers", "Presupuesto, edades y papeles"),
        why=(
            "Film is about half of what a tunnel costs in a year; a loss is paid by papers.",
            "El plástico es casi la mitad del costo del túnel al año; una pérdida se paga con papeles.",
        ),
        target=Target.FARM,
        trigger=Trigger.SEASON,
        season=Season.WINTER,
        offset_days=31,
        window_days=58,
        minutes=480,
        checklist=(
            ("Check the date of every sheet of film.", "Revise la fecha de cada plástico."),
            ("Budget film, doors, frames and hours.", "Presupueste plástico, puertas, estructura y horas."),
            ("Check the years of each support contract.", "Revise los años de cada contrato de apoyo."),
            ("Check that each tunnel is insured.", "Revise que cada túnel esté asegurado."),
            ("Count the spares.", "Cuente los repuestos."),
            ("Plan who learns the doors and the ladder.", "Planee quién aprende puertas y escalera."),
        ),
        source=f"Film's share: Bomford and Silvernail, Kentucky State University, 2006; one to two days: {NO_SOURCE}",
    ),
    Starter(
        code="film-spares",
        name=("Look over the spare film", "Revisar el plástico de repuesto"),
        why=(
            "One old roof sheet for every four tunnels can save a crop after a storm.",
            "Un plástico viejo por cada cuatro túneles puede salvar el cultivo tras una tormenta.",
        ),
        target=Target.FARM,
        trigger=Trigger.SEASON,
        season=Season.AUTUMN,
        offset_days=45,
        window_days=30,
        minutes=30,
        crew=2,
        checklist=(
            ("One old roof sheet for every four tunnels.", "Un techo viejo por cada cuatro túneles."),
            ("One door sheet for each door width.", "Un plástico por cada ancho de puerta."),
            ("Dry, rolled, out of the sun.", "Seco, enrollado, sin sol."),
            ("Repair tape enough for a storm.", "Cinta de reparación para una tormenta."),
        ),
        source=f"Dawling, 2017, keeps spare film; how much: common practice, no source; time: {OUR_OWN}",
    ),
)
