"""The frame: bows, posts, braces, end walls, anchors and the ditch beside them."""

from __future__ import annotations

from typing import Any, Final

from maintenance.practice.needs import Need
from maintenance.practice.starter import (
    NO_SOURCE,
    OUR_OWN,
    Part,
    Season,
    Starter,
    Target,
    Trigger,
    mph,
)

STRAIGHT: Final = (
    ("socket set", "juego de dados"),
    ("level", "nivel"),
    ("string", "cordón"),
    ("marker", "marcador"),
)
EYES_UP: Final = ("Look up before you walk in.", "Mire arriba antes de entrar.")
FRAME_LINES: Final = (
    EYES_UP,
    ("Stand at the end. Is the ridge straight?", "Párese en la punta. ¿Cumbrera derecha?"),
    ("Look at each post foot: lifted? leaning?", "Mire cada poste: ¿levantado? ¿inclinado?"),
    ("Look at each bow: dent? bend?", "Mire cada arco: ¿golpe? ¿doblado?"),
    ("Braces tight. No bolt missing.", "Contraventeo firme. Ningún perno falta."),
    ("Push the baseboard. Rot?", "Empuje la tabla base. ¿Podrida?"),
    ("Pull the hip board. Does it lift?", "Jale la tabla lateral. ¿Se levanta?"),
    ("Mark each fault with a cross. Report it.", "Marque cada falla con una cruz. Avise."),
)
FRAME_ROUND: Final[dict[str, Any]] = {
    "target": Target.TUNNEL,
    "trigger": Trigger.SEASON,
    "window_days": 45,
    "minutes": 45,
    "crew": 2,
    "tools": STRAIGHT,
    "checklist": FRAME_LINES,
    "source": f"What to look at: Michigan State University Extension, damage questions; time: {NO_SOURCE}",
}
WALL_ROUND: Final[dict[str, Any]] = {
    "target": Target.END_WALL,
    "trigger": Trigger.SEASON,
    "window_days": 45,
    "minutes": 20,
    "tools": (("tape measure", "cinta métrica"), *STRAIGHT[:2]),
    "parts": (("SCREW-SD", 4),),
    "checklist": (
        ("Measure both diagonals of each opening.", "Mida las dos diagonales de cada vano."),
        ("They differ over {length:0.0127}? Report it.", "¿Diferencia de más de {length:0.0127}? Avise."),
        ("Push each stud and jamb. Does it move?", "Empuje cada poste y jamba. ¿Se mueve?"),
        ("Poke wood at the soil. Soft?", "Pique la madera junto al suelo. ¿Blanda?"),
        ("Is the wall tied to the first bow?", "¿El frente está amarrado al primer arco?"),
        ("Tighten every frame screw.", "Apriete cada tornillo del marco."),
    ),
    "source": f"Tied to a bow: university trial, Illinois; diagonals: {NO_SOURCE}; time: {OUR_OWN}",
}
SIDES_ROUND: Final[dict[str, Any]] = {
    "target": Target.TUNNEL,
    "needs": (Need.ROLLUP_SIDES,),
    "trigger": Trigger.SEASON,
    "season": Season.SPRING,
    "window_days": 28,
    "minutes": 30,
    "crew": 2,
    "tools": (("driver with clutch", "atornillador con embrague"), ("cord", "cuerda")),
    "most_gust_m_s": mph(25),
    "source": NO_SOURCE,
}

STARTERS: Final = (
    Starter(
        code="frame-spring",
        name=("Frame after winter", "Estructura después del invierno"),
        why=(
            "Frost lifts posts and snow bends bows; the frame tells before it fails.",
            "La helada levanta postes y la nieve dobla arcos; la estructura avisa antes de fallar.",
        ),
        season=Season.SPRING,
        **FRAME_ROUND,
    ),
    Starter(
        code="frame-autumn",
        name=("Frame before winter", "Estructura antes del invierno"),
        why=(
            "What is loose in autumn is down after the first wet snow.",
            "Lo flojo en otoño se cae con la primera nieve mojada.",
        ),
        season=Season.AUTUMN,
        offset_days=14,
        **FRAME_ROUND,
    ),
    Starter(
        code="wall-frame-spring",
        name=("End-wall frame in spring", "Marco del frente en primavera"),
        why=(
            "A wall out of square makes doors bind and jambs crack.",
            "Un frente descuadrado traba las puertas y raja las jambas.",
        ),
        season=Season.SPRING,
        offset_days=14,
        **WALL_ROUND,
    ),
    Starter(
        code="wall-frame-autumn",
        name=("End-wall frame in autumn", "Marco del frente en otoño"),
        why=(
            "The end wall takes the wind first; it must be square and tied to the bows.",
            "El frente recibe primero el viento; debe estar a escuadra y amarrado a los arcos.",
        ),
        season=Season.AUTUMN,
        offset_days=14,
        **WALL_ROUND,
    ),
    Starter(
        code="connection-check",
        name=("Check connections while the film is off", "Revisar uniones sin plástico"),
        why=(
            "Only without film can each bolt be reached; many turn out loose.",
            "Sólo sin plástico se alcanza cada perno; muchos están flojos.",
        ),
        target=Target.COMPONENT,
        kinds=(Part.ROOF_FILM,),
        trigger=Trigger.AGE,
        after_days=1461,
        window_days=730,
        minutes=120,
        crew=2,
        tools=(("socket set", "juego de dados"), ("step ladder and helper", "escalera de tijera y ayudante")),
        needs_daylight=True,
        most_gust_m_s=mph(25),
        checklist=(
            ("No metal ladder near power lines.", "Sin escalera de metal cerca de cables."),
            ("One person holds the ladder.", "Una persona detiene la escalera."),
            ("Tighten each bolt of ridge and purlins.", "Apriete cada perno de cumbrera y largueros."),
            ("Tighten the collar ties.", "Apriete los tirantes."),
            ("File burrs. Tape sharp points.", "Lime filos. Cubra puntas con cinta."),
            ("Clean the inflation blower.", "Limpie el soplador."),
            ("Replace rotten wood now.", "Cambie ahora la madera podrida."),
        ),
        source="UMass Extension Vegetable Program, 2012: about two hours at each re-cover",
    ),
    Starter(
        code="connections-storms",
        name=("Connections after three storms", "Uniones después de tres tormentas"),
        why=(
            "Each storm works bolts and clamps a little looser.",
            "Cada tormenta afloja un poco los pernos y las abrazaderas.",
        ),
        target=Target.TUNNEL,
        trigger=Trigger.STORMS,
        after_count=3,
        window_days=14,
        minutes=45,
        crew=2,
        tools=(("socket set", "juego de dados"),),
        checklist=(
            EYES_UP,
            ("Tighten the bolts of each brace.", "Apriete los pernos de cada contraventeo."),
            ("Tighten the cross clamps of the purlins.", "Apriete las grapas de los largueros."),
            ("Tighten the bolts of the collar ties.", "Apriete los pernos de los tirantes."),
            ("Check each anchor: has it lifted?", "Revise cada ancla: ¿se levantó?"),
        ),
        source=f"Re-tighten after wind: Fukui Prefecture, 2016; three storms and the time: {OUR_OWN}",
    ),
    Starter(
        code="side-anchors-off",
        name=("Free the sides for summer", "Soltar las cortinas para el verano"),
        why=(
            "Sides still anchored tear when somebody cranks them.",
            "Una cortina anclada se rompe cuando alguien la enrolla.",
        ),
        offset_days=30,
        checklist=(
            ("Take off the winter anchors. Count them.", "Quite las anclas de invierno. Cuéntelas."),
            ("Refit the anti-billow cord.", "Ponga otra vez la cuerda contra viento."),
            ("Roll each side up and down once.", "Suba y baje cada cortina una vez."),
            ("Store the anchors where all know.", "Guarde las anclas donde todos sepan."),
        ),
        **SIDES_ROUND,
    ),
    Starter(
        code="side-anchors-on",
        name=("Anchor the sides for winter", "Anclar las cortinas para el invierno"),
        why=(
            "A side that winter wind can lift opens the whole tunnel.",
            "Una cortina que el viento levanta abre todo el túnel.",
        ),
        offset_days=61,
        checklist=(
            ("Roll both sides down to the baseboard.", "Baje las dos cortinas hasta la tabla base."),
            ("Anchor the bar. Both ends first.", "Ancle el tubo. Primero las puntas."),
            ("Cord tight along the whole side.", "Cuerda tensa en todo el lado."),
            ("Push the film by hand. It stays in?", "Empuje el plástico. ¿Se queda en su lugar?"),
        ),
        **(SIDES_ROUND | {"season": Season.AUTUMN}),
    ),
    Starter(
        code="drainage-autumn",
        name=("Ditches before winter", "Zanjas antes del invierno"),
        why=(
            "Wet soil holds posts badly; a full ditch loosens them before the wind does.",
            "La tierra mojada detiene mal los postes; una zanja tapada los afloja antes que el viento.",
        ),
        target=Target.TUNNEL,
        trigger=Trigger.SEASON,
        season=Season.AUTUMN,
        offset_days=14,
        window_days=45,
        minutes=30,
        tools=(("shovel", "pala"), ("rake", "rastrillo")),
        checklist=(
            ("Clear leaves and soil from the ditch.", "Quite hojas y tierra de la zanja."),
            ("Water must run away from posts and doors.", "El agua debe irse de postes y puertas."),
            ("Fill holes at post feet. Tread firm.", "Rellene hoyos en los postes. Pise firme."),
            ("Threshold free, nothing to freeze the bar.", "Umbral libre, nada que congele el tubo."),
        ),
        source=f"Clean ditches before wind: Fukui Prefecture, 2016; autumn: {NO_SOURCE}; time: {OUR_OWN}",
    ),
)
