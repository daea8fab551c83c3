"""Work that weather brings: before wind, after it, and after rain. A forecast or a person starts it."""

from __future__ import annotations

from typing import Final

from maintenance.practice.needs import Need
from maintenance.practice.starter import NO_SOURCE, OUR_OWN, Rhythm, Starter, Target, Trigger, mph

STARTERS: Final = (
    Starter(
        code="storm-check",
        name=("Make ready for wind", "Preparar para el viento"),
        why=(
            "Most covers are lost through something that was known and still open.",
            "La mayoría de los plásticos se pierde por algo que ya se sabía y quedó abierto.",
        ),
        rhythm=Rhythm.EVENT,
        target=Target.TUNNEL,
        trigger=Trigger.CONDITION,
        window_days=1,
        minutes=30,
        crew=2,
        tools=(
            ("driver with clutch", "atornillador con embrague"),
            ("spring wire and pliers", "resorte y pinzas"),
            ("repair tape", "cinta de reparación"),
            ("hooks and cords", "ganchos y cuerdas"),
            ("head torch", "lámpara de cabeza"),
        ),
        most_gust_m_s=mph(30),
        is_urgent=True,
        checklist=(
            ("Gusts pass {gust:13.4112}? Stop. Go home.", "¿Ráfagas de más de {gust:13.4112}? Pare. Váyase."),
            ("Pick up everything loose.", "Recoja todo lo suelto."),
            ("Windward doors first. None half open.", "Primero el lado del viento. Ninguna a medias."),
            ("Bar down, crank locked, pins in.", "Tubo abajo, manivela trabada, pasadores."),
            ("All hooks on. All cords tight.", "Todos los ganchos. Todas las cuerdas tensas."),
            ("Sides down. Spring wire pushed in.", "Cortinas abajo. Resorte bien metido."),
            ("Small door latched. Knife in its place.", "Puerta chica cerrada. Navaja en su lugar."),
            ("Take a photo of each end wall.", "Tome una foto de cada frente."),
        ),
        source=f"Bartok, University of Connecticut Extension, 2015; stop at 30 mph: OSHA note; time: {OUR_OWN}",
    ),
    Starter(
        code="after-blow",
        name=("Look over the tunnel after the wind", "Revisar el túnel después del viento"),
        why=(
            "A damaged tunnel is the first to go in the next wind.",
            "Un túnel dañado es el primero en caer con el siguiente viento.",
        ),
        rhythm=Rhythm.EVENT,
        target=Target.TUNNEL,
        trigger=Trigger.GUST,
        gust_m_s=mph(45),
        window_days=1,
        minutes=15,
        needs_daylight=True,
        most_gust_m_s=mph(30),
        is_urgent=True,
        checklist=(
            ("Stay out until the wind is down.", "No entre hasta que baje el viento."),
            ("Wires or gas first: keep away, call.", "Primero cables y gas: no se acerque, llame."),
            ("Look from outside. Take photos.", "Mire desde afuera. Tome fotos."),
            ("Ridge straight? Feet down? Bows round?", "¿Cumbrera derecha? ¿Pies abajo? ¿Arcos bien?"),
            ("Film: hole, tear, loose edge?", "Plástico: ¿hoyo, rasgadura, orilla suelta?"),
            ("Does each door open and close?", "¿Cada puerta abre y cierra?"),
            ("Count hooks and cords.", "Cuente ganchos y cuerdas."),
            ("Open up to let the heat out.", "Abra para que salga el calor."),
        ),
        source=f"Michigan State University Extension, damage questions; Fukui Prefecture, 2016; 45 mph: {NO_SOURCE}",
    ),
    Starter(
        code="after-blow-pressure",
        name=("Reset the inflation after the wind", "Ajustar el aire después del viento"),
        why=(
            "Air raised for the storm strains the film in calm.",
            "El aire que se subió para la tormenta fuerza el plástico en calma.",
        ),
        rhythm=Rhythm.EVENT,
        target=Target.TUNNEL,
        needs=(Need.TWO_LAYERS,),
        trigger=Trigger.GUST,
        gust_m_s=mph(45),
        window_days=2,
        minutes=5,
        tools=(("manometer", "manómetro"),),
        waits_for=("after-blow",),
        checklist=(
            ("Blower runs. Intake clear.", "El soplador anda. Entrada limpia."),
            ("Set the pressure back to normal.", "Regrese la presión a lo normal."),
            ("Film firm, no ripples.", "Plástico firme, sin arrugas."),
        ),
        source=f"UMass Extension Vegetable Program, 2012; 45 mph: {NO_SOURCE}; time: the weekly check's",
    ),
    Starter(
        code="drainage-rain",
        name=("Standing water after rain", "Agua estancada después de la lluvia"),
        why=(
            "A roof sheds a tankful in one shower; wet feet let posts move.",
            "Un techo suelta un tanque de agua por aguacero; con el pie mojado el poste se mueve.",
        ),
        rhythm=Rhythm.EVENT,
        target=Target.TUNNEL,
        trigger=Trigger.CONDITION,
        window_days=2,
        minutes=10,
        tools=(("shovel", "pala"),),
        checklist=(
            ("After {small:0.0127} of rain, walk round.", "Después de {small:0.0127} de lluvia, dé la vuelta."),
            ("Water at a post or door? Let it out.", "¿Agua en un poste o puerta? Déjela salir."),
            ("Soft soil at a foot? Tread it firm.", "¿Tierra floja en un poste? Písela firme."),
            ("A post moves? Report it.", "¿Se mueve un poste? Avise."),
        ),
        source=f"Runoff: Iowa State University, report A1198; half an inch: {NO_SOURCE}; time: {OUR_OWN}",
    ),
)
