"""Film: when a sheet has served its time, and the first days of a new one."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from maintenance.practice.needs import Need
from maintenance.practice.starter import NO_SOURCE, Answer, Part, Season, Starter, Target, Trigger, mph

FOUR_YEARS: Final = 1461  # days
THREE_YEARS: Final = 1096  # days

FILM_WEATHER: Final[dict[str, Any]] = {
    "needs_dry": True,
    "needs_daylight": True,
    "most_gust_m_s": mph(5),  # Dawling, on re-covering a tunnel, 2015
    "least_temperature_k": Decimal("277.59"),  # 40 °F, common practice, no source
}
FILM_TOOLS: Final = (
    ("flat screwdriver and pliers for each person", "desarmador plano y pinzas para cada persona"),
    ("utility knife with guarded blade", "navaja con hoja protegida"),
    ("ropes with padded ends", "cuerdas con puntas acolchadas"),
    ("step ladder and helper", "escalera de tijera y ayudante"),
    ("repair tape", "cinta de reparación"),
    ("permanent marker", "marcador permanente"),
)
CALM: Final = ("Start only in calm: below {gust:2.2352}.", "Empiece sólo en calma: menos de {gust:2.2352}.")
LET_GO: Final = ("If wind lifts the film, let go.", "Si el viento levanta el plástico, suéltelo.")
MARK: Final = ("Write the date on the tucked edge.", "Escriba la fecha en la orilla doblada.")
UNTAPED: Final = ("Tape every sharp point.", "Cubra con cinta toda punta filosa.")

STARTERS: Final = (
    Starter(
        code="roof-film-age",
        name=("Replace the roof film", "Cambiar el plástico del techo"),
        why=(
            "Sold to last four years, used for four to six; old film tears in wind and takes light from the crop.",
            "Se vende para cuatro años y se usa de cuatro a seis; viejo se rompe con el viento y quita luz al cultivo.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.ROOF_FILM,),
        trigger=Trigger.AGE,
        after_days=FOUR_YEARS,
        window_days=730,
        minutes=480,
        crew=6,
        tools=FILM_TOOLS,
        parts=(("film", 1), ("wire", 4)),
        answer=Answer.REPLACED,
        checklist=(
            CALM,
            ("No power lines near the ropes.", "Ningún cable eléctrico cerca de las cuerdas."),
            UNTAPED,
            ("Pull the film over with ropes. Centre it.", "Jale el plástico con cuerdas. Céntrelo."),
            ("Fix both ends first, then side by side.", "Fije primero las puntas, luego lado y lado."),
            LET_GO,
            ("Let it warm up. Trim last.", "Deje que se caliente. Recorte al final."),
            MARK,
        ),
        waits_for=("shade-off",),
        source="Life: UMass Extension, film update; wind and people: Dawling, 2015; time: common practice, no source",
        **FILM_WEATHER,
    ),
    Starter(
        code="wall-film-age",
        name=("Replace the end-wall film", "Cambiar el plástico del frente"),
        why=(
            "End walls last as long as roofs at best; not in the same year as the roof, unless it must be.",
            "El frente dura cuando mucho lo que el techo; no en el mismo año que el techo, si se puede.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.WALL_FILM,),
        trigger=Trigger.AGE,
        after_days=FOUR_YEARS,
        window_days=730,
        minutes=180,
        crew=3,
        tools=FILM_TOOLS,
        parts=(("film", 1), ("wire", 2)),
        answer=Answer.REPLACED,
        checklist=(
            CALM,
            ("One person holds the ladder.", "Una persona detiene la escalera."),
            ("Take off the old film. Check the studs.", "Quite el plástico viejo. Revise los postes."),
            UNTAPED,
            ("Fix the top first, then both sides.", "Fije primero arriba, luego los dos lados."),
            LET_GO,
            MARK,
        ),
        source="Life: UMass Extension, film update; not with the roof: Dawling, 2023; time and people: our own",
        **FILM_WEATHER,
    ),
    Starter(
        code="door-film-age",
        name=("Replace the door film", "Cambiar el plástico de la puerta"),
        why=(
            "Door film is rolled every day and wears sooner than the roof.",
            "El plástico de la puerta se enrolla cada día y se gasta antes que el del techo.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.DOOR_FILM,),
        trigger=Trigger.AGE,
        after_days=THREE_YEARS,
        window_days=365,
        minutes=90,
        crew=2,
        tools=FILM_TOOLS[:2] + FILM_TOOLS[3:],
        parts=(("film", 1), ("clamp", 2), ("wire", 2), ("SCREW-SD", 4)),
        answer=Answer.REPLACED,
        checklist=(
            CALM,
            ("Lock the crank. Take out the screws.", "Trabe la manivela. Quite los tornillos."),
            ("Look at every clamp. Replace cracked ones.", "Revise cada abrazadera. Cambie las rotas."),
            ("Fix the top edge. Let the film hang straight.", "Fije arriba. Deje colgar derecho el plástico."),
            ("Wrap the bar one and a half turns. Clamp it.", "Dé vuelta y media al tubo. Ponga abrazaderas."),
            ("Film snug, not tight as a drum.", "Plástico ajustado, no como tambor."),
            ("Open and close it once, all the way.", "Ábrala y ciérrela una vez, completa."),
            MARK,
        ),
        source="Common practice, no source: three to four years for rolled film; time and people: our own",
        **FILM_WEATHER,
    ),
    Starter(
        code="roof-film-dose",
        name=("Test roof film that has had its sun", "Probar plástico de techo con mucho sol"),
        why=(
            "The film has taken the sunlight it was made for. Its age alone does not tell.",
            "El plástico ya recibió el sol para el que se hizo. La edad sola no lo dice.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.ROOF_FILM,),
        trigger=Trigger.DOSE,
        window_days=90,
        minutes=30,
        checklist=(
            ("Look at the film on the bows: cracks, white lines?", "Mire sobre los arcos: ¿grietas, rayas blancas?"),
            ("Push with a flat hand. Does it give and come back?", "Empuje con la mano. ¿Cede y regresa?"),
            ("Count the patches.", "Cuente los parches."),
            ("Three patches in a bay: plan a new sheet.", "Tres parches en un tramo: planee plástico nuevo."),
            ("Say whether it lasts one more season.", "Diga si aguanta otra temporada."),
        ),
        source="Dose: the maker's rating of the film; what to look at and the time: our own planning value",
    ),
    Starter(
        code="door-film-dose",
        name=("Test door film that has had its sun", "Probar plástico de puerta con mucho sol"),
        why=(
            "The film has taken the sunlight it was made for; rolling cracks it sooner.",
            "El plástico ya recibió el sol para el que se hizo; al enrollarse se agrieta antes.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.DOOR_FILM,),
        trigger=Trigger.DOSE,
        window_days=90,
        minutes=15,
        checklist=(
            ("Roll the door down.", "Baje la puerta."),
            ("Look at the film beside each clamp: cracks?", "Mire junto a cada abrazadera: ¿grietas?"),
            ("Look at both edges: tears?", "Mire las dos orillas: ¿rasgaduras?"),
            ("Push with a flat hand. Does it give and come back?", "Empuje con la mano. ¿Cede y regresa?"),
            ("Say whether it lasts one more season.", "Diga si aguanta otra temporada."),
        ),
        source="Dose: the maker's rating of the film; what to look at and the time: our own planning value",
    ),
    Starter(
        code="film-tape",
        name=("Tape every hole", "Poner cinta en cada hoyo"),
        why=(
            "A small hole is where wind begins a tear.",
            "El viento empieza a romper por un hoyo chico.",
        ),
        target=Target.TUNNEL,
        needs=(Need.FILM,),
        trigger=Trigger.SEASON,
        season=Season.SPRING,
        window_days=30,
        minutes=20,
        crew=2,
        tools=(
            ("repair tape", "cinta de reparación"),
            ("clean cloth and water", "trapo limpio y agua"),
            ("step ladder and helper", "escalera de tijera y ayudante"),
        ),
        needs_dry=True,
        most_gust_m_s=mph(25),
        least_temperature_k=Decimal("277.59"),
        checklist=(
            ("Wash the film. Let it dry.", "Lave el plástico. Déjelo secar."),
            ("Cut round corners on the tape.", "Corte la cinta con puntas redondas."),
            ("Tape inside and outside. Press out the air.", "Pegue por dentro y por fuera. Saque el aire."),
            ("One person holds the ladder.", "Una persona detiene la escalera."),
            ("Tear longer than {span:0.9144}: report it.", "Rasgadura de más de {span:0.9144}: avise."),
        ),
        source=f"Bartok, University of Connecticut Extension, 2015; how to tape and the time: {NO_SOURCE}",
    ),
    Starter(
        code="door-film-first",
        name=("New door film: first look", "Plástico nuevo de puerta: primera revisión"),
        why=(
            "New film stretches in its first days and clamps creep.",
            "El plástico nuevo se estira los primeros días y las abrazaderas se corren.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.DOOR_FILM,),
        trigger=Trigger.FITTED,
        after_days=1,
        window_days=2,
        minutes=10,
        most_gust_m_s=mph(30),
        is_urgent=True,
        checklist=(
            ("Is the film even, left and right?", "¿Está parejo el plástico, izquierda y derecha?"),
            ("Has a clamp moved? Put it back.", "¿Se corrió una abrazadera? Acomódela."),
            ("Spring wire in, both edges.", "Resorte bien metido, las dos orillas."),
            ("Snug, not tight as a drum.", "Ajustado, no como tambor."),
        ),
        source=NO_SOURCE,
    ),
    Starter(
        code="door-film-30-days",
        name=("Door film after a month", "Plástico de puerta al mes"),
        why=(
            "Heat and cold move film; after a month it has found its place.",
            "El calor y el frío mueven el plástico; al mes ya se asentó.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.DOOR_FILM,),
        trigger=Trigger.FITTED,
        after_days=30,
        window_days=7,
        minutes=10,
        most_gust_m_s=mph(30),
        waits_for=("door-film-first",),
        checklist=(
            ("Is the film even, left and right?", "¿Está parejo el plástico, izquierda y derecha?"),
            ("Has a clamp moved? Put it back.", "¿Se corrió una abrazadera? Acomódela."),
            ("Spring wire in, both edges.", "Resorte bien metido, las dos orillas."),
            ("Any new crack or rub mark? Report it.", "¿Grieta o rozadura nueva? Avise."),
        ),
        source=NO_SOURCE,
    ),
)
