"""The film plan: what is printed is what the register says, what is unknown is said, and files are safe."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
import tablib
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import escape

from doors.models import Component, Material, StockMove
from doors.services import hang_door, resize_openings
from farm.models import Farm, Tunnel
from maintenance.film.buying import left_out, purchases
from maintenance.film.plan import FilmPlan, Replacement, film_plan
from maintenance.models import Routine
from tests.factories import feet, inches, make_component, make_material, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db

ON = date(2026, 11, 25)
FOOT = 0.3048  # m, exact
Kind = Component.Kind


def make_film(farm: Farm, **values: Any) -> Material:
    """Make 6 mil film of four years, at 0.10 a square foot, sold in widths of 14 and 48 ft."""
    sizes: dict[str, Any] = {
        "kind": "film", "diameter_mm": None, "wall_mm": None, "stock_length_mm": None, "thickness_mm": inches("0.006"),
        "rated_life_years": Decimal(4), "price": Decimal("0.10"), "price_per": "ft2",
        "roll_widths_mm": [float(feet(14)), float(feet(48))],
    }  # fmt: skip
    return make_material(farm, **{**sizes, **values})


def make_replacing(farm: Farm, kind: str = Kind.ROOF_FILM, **values: Any) -> Routine:
    """Make the routine that replaces a kind of film: 8 h of 6 people."""
    given: dict[str, Any] = {
        "code": f"renew-{kind}".replace("_", "-"), "name": {"en": "Renew it"}, "target": "component", "kinds": [kind],
        "trigger": "age", "minutes": 480, "crew": 6, "answer": "replaced",
    }  # fmt: skip
    return Routine.objects.create(farm=farm, **{**given, **values})


def make_box(farm: Farm, **values: Any) -> Tunnel:
    """Make a tunnel whose arch is 2 x 5 ft of side and two slopes of 12 and 5 ft, that is 36 ft over 24 ft of width."""
    outline = [[float(feet(x)), float(feet(y))] for x, y in ((0, 5), (12, 10), (24, 5))]
    sizes: dict[str, Any] = {
        "shape": "measured", "width_mm": feet(24), "ridge_mm": feet(10), "side_mm": None, "length_mm": feet(98),
        "profile_mm": outline,
    }  # fmt: skip
    return make_tunnel(farm, **{**sizes, **values})


def only(plan: FilmPlan) -> Replacement:
    (row,) = plan.rows
    return row


def page(reader: Any, farm: Farm, **query: str) -> Any:
    return reader.get(reverse("film-plan", args=[farm.slug]), query)


# Sizes, weight, cost -----------------------------------------------------------------


def test_a_roof_is_the_arch_by_the_length_off_the_narrowest_roll_that_does(farm):
    """36 + 1 ft over the arch, 98 + 2 ft along: 48 ft roll x 100 ft = 4,800 ft2 a layer; 138 lb; 960 for two layers."""
    make_component(
        make_box(farm), kind=Kind.ROOF_FILM, material=make_film(farm), quantity=2, fitted_on=date(2025, 5, 1)
    )

    size = only(film_plan(farm=farm, on=ON)).size

    assert (size.piece.roll_width, size.piece.length) == pytest.approx((48 * FOOT, 100 * FOOT))
    assert size.area == pytest.approx(2 * 4800 * FOOT**2)
    assert size.covers == pytest.approx(2 * 36 * 98 * FOOT**2)
    assert size.mass / 0.45359237 == pytest.approx(138, abs=0.5)
    assert size.cost == pytest.approx(960)


def test_an_end_wall_covers_its_area_without_its_openings(farm):
    """24 x 5 ft below, a triangle of 24 x 5 ft above, less 12 x 8 ft: 84 ft2; off the 14 ft roll, 26 ft long."""
    wall = make_wall(make_box(farm))
    make_opening(wall)
    make_component(wall, kind=Kind.WALL_FILM, material=make_film(farm), fitted_on=date(2025, 5, 1))

    size = only(film_plan(farm=farm, on=ON)).size

    assert size.covers == pytest.approx(84 * FOOT**2)
    assert (size.piece.roll_width, size.piece.length) == pytest.approx((14 * FOOT, 26 * FOOT))


def test_a_doors_film_is_the_panel_of_the_sheet_it_was_hung_by(farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    hang_door(opening=opening, on=date(2025, 5, 1))
    sheet = opening.door.as_built
    type(opening.door).objects.filter(pk=opening.door.pk).update(sizing=None)
    make_component(
        opening, kind=Kind.DOOR_FILM, material=make_film(farm, roll_widths_mm=[]), fitted_on=date(2025, 5, 1)
    )

    size = only(film_plan(farm=farm, on=ON)).size

    assert sheet.panel_width_mm > 0
    assert size.area == pytest.approx(float(sheet.panel_width_mm * sheet.panel_height_mm) / 1e6)


def test_work_is_minutes_by_people_at_the_farms_rate(farm):
    """480 min x 6 people = 48 h; at 20 an hour 960."""
    Farm.objects.filter(pk=farm.pk).update(labour_rate=Decimal(20))
    farm.refresh_from_db()
    make_replacing(farm)
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=date(2025, 5, 1))

    row = only(film_plan(farm=farm, on=ON))

    assert (row.person_hours, row.work_cost) == (48, 960)


# Years -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fitted_on", "when", "replace_on", "year"),
    [
        (date(2025, 5, 1), "planned", date(2028, 9, 15), 1),
        (date(2022, 5, 1), "planned", date(2027, 9, 15), 0),  # rated life over in 2026, used on until May 2028
        (date(2020, 9, 1), "now", ON, 0),
        (date(2026, 10, 1), "planned", date(2030, 9, 15), 3),
    ],
)
def test_sheets_fall_into_the_year_of_their_autumn(farm, fitted_on, when, replace_on, year):
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=fitted_on)

    row = only(film_plan(farm=farm, on=ON))

    assert (row.when, row.replace_on, row.year) == (when, replace_on, year)


def test_south_of_the_equator_autumn_is_in_march(farm):
    Farm.objects.filter(pk=farm.pk).update(latitude_deg=Decimal(-35))
    farm.refresh_from_db()
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=date(2025, 5, 1))

    assert only(film_plan(farm=farm, on=ON)).replace_on == date(2029, 3, 15)


def test_totals_are_of_a_years_sheets_and_count_what_is_unknown(farm):
    film, unpriced = make_film(farm), make_film(farm, price=None, price_per="")
    for material in (film, film, unpriced):
        make_component(make_box(farm), kind=Kind.ROOF_FILM, material=material, fitted_on=date(2022, 5, 1))

    year = film_plan(farm=farm, on=ON).years[0]

    assert year.film_cost == pytest.approx(2 * 480)
    assert year.unknown_count == 3  # no labour rate either


def test_a_tunnel_whose_roof_and_walls_fall_together_is_named(farm):
    film = make_film(farm)
    both, roof_only = make_box(farm, code="BOTH"), make_box(farm, code="ROOF")
    for place, kind in ((both, Kind.ROOF_FILM), (make_wall(both), Kind.WALL_FILM), (roof_only, Kind.ROOF_FILM)):
        make_component(place, kind=kind, material=film, fitted_on=date(2022, 5, 1))

    years = film_plan(farm=farm, on=ON).years

    assert [year.together for year in years] == [("BOTH",), (), ()]


def test_what_is_gone_is_not_planned(farm):
    film = make_film(farm)
    retired = make_box(farm, status="retired", retired_on=date(2026, 1, 1))
    make_component(retired, kind=Kind.ROOF_FILM, material=film)
    make_component(
        make_box(farm), kind=Kind.ROOF_FILM, material=film, removed_on=date(2026, 1, 1), removal_reason="worn"
    )

    assert film_plan(farm=farm, on=ON).rows == ()


def test_film_nobody_knows_is_listed_and_said_why(reader, farm):
    make_component(make_tunnel(farm, width_mm=None), kind=Kind.ROOF_FILM, material=None, fitted_on=date(2022, 5, 1))

    row = only(film_plan(farm=farm, on=ON))
    text = page(reader, farm).content.decode()

    assert (row.when, row.year, row.size.area, row.film_cost, row.work_cost) == ("unknown", None, None, None, None)
    assert len(row.missing) == 4
    assert "Nobody knows when" in text
    assert all(escape(str(reason)) in text for reason in row.missing)


def test_a_roll_that_is_too_narrow_is_said_with_what_is_needed(reader, farm):
    film = make_film(farm, roll_widths_mm=[float(feet(14))])
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=film, fitted_on=date(2022, 5, 1))

    row = only(film_plan(farm=farm, on=ON))

    assert (row.size.piece, row.film_cost) == (None, None)
    assert any("wide enough" in str(reason) for reason in row.missing)
    text = page(reader, farm).content.decode()
    needs = re.search(r"needs.*?</td>", text, re.DOTALL)
    assert needs is not None
    assert [size in unescape(needs[0]) for size in ("37' 0\"", "100' 0\"")] == [True, True]


# Buying ------------------------------------------------------------------------------


def test_the_next_seasons_film_is_bought_by_roll(farm):
    """Two roofs off the 48 ft roll, a wall off the 14 ft roll; ordered two weeks before mid September."""
    film = make_film(farm, lead_weeks=2)
    for _ in range(2):
        make_component(make_box(farm), kind=Kind.ROOF_FILM, material=film, fitted_on=date(2022, 5, 1))
    make_component(make_wall(make_box(farm)), kind=Kind.WALL_FILM, material=film, fitted_on=date(2022, 5, 1))
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=film, fitted_on=date(2026, 5, 1))  # not next season's
    StockMove.objects.create(farm=farm, material=film, quantity=Decimal(3), on=ON, reason="bought")

    plan = film_plan(farm=farm, on=ON)
    narrow, wide = purchases(plan)

    assert (narrow.sheet_count, wide.sheet_count) == (1, 2)
    assert [narrow.roll_width, wide.roll_width] == pytest.approx([14 * FOOT, 48 * FOOT])
    assert wide.length == pytest.approx(200 * FOOT)
    assert wide.cost == pytest.approx(960)
    assert (wide.order_by, wide.is_late, wide.in_store) == (date(2027, 9, 1), False, Decimal(3))
    assert left_out(plan) == 0


def test_film_that_is_due_now_is_ordered_now(farm):
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=date(2020, 1, 1))

    (one,) = purchases(film_plan(farm=farm, on=ON))

    assert (one.is_late, one.order_by) == (True, date(2026, 10, 14))


def test_film_without_a_name_cannot_be_ordered(farm):
    plan = film_plan(farm=farm, on=ON)
    assert (purchases(plan), left_out(plan)) == ([], 0)

    make_component(
        make_tunnel(farm, length_mm=None), kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=ON.replace(2020)
    )
    plan = film_plan(farm=farm, on=ON)

    assert (purchases(plan), left_out(plan)) == ([], 1)


# Pages and files ----------------------------------------------------------------------


def fill(farm: Farm, count: int) -> None:
    film = make_film(farm)
    for _ in range(count):
        tunnel = make_box(farm)
        wall = make_wall(tunnel)
        for place, kind in ((tunnel, Kind.ROOF_FILM), (wall, Kind.WALL_FILM), (make_opening(wall), Kind.DOOR_FILM)):
            make_component(place, kind=kind, material=film, fitted_on=date(2024, 5, 1))


@pytest.mark.parametrize("name", ["film-plan", "year"])
def test_sixty_tunnels_take_as_many_queries_as_one(reader, farm, name):
    counts = []
    for more in (1, 2, 57):
        fill(farm, more)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert reader.get(reverse(name, args=[farm.slug])).status_code == 200
        counts.append(len(queries))

    assert len(set(counts)) == 1


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_plan_is_kept_as_a_file(reader, farm, kind):
    tunnel = make_box(farm, code="T01")
    make_component(tunnel, kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=date(2022, 5, 1), quantity=2)

    answer = page(reader, farm, export=kind)

    assert f".{kind}" in answer["Content-Disposition"]
    content = answer.content if kind == "xlsx" else answer.content.decode("utf-8-sig")
    (row,) = tablib.Dataset().load(content, format=kind).dict
    assert (row["on"], row["part"]) == ("T01", "roof film")
    assert [float(row[name]) for name in ("layers", "sheet_width_in", "roll_width_in", "buy_ft2", "film_cost")] == (
        pytest.approx([2, 37 * 12, 48 * 12, 9600, 960])
    )


def test_a_formula_in_the_register_is_text_in_the_file(reader, farm):
    make_component(
        make_box(farm, code="=1+1"), kind=Kind.ROOF_FILM, material=make_film(farm, name="@evil"), spot="+2",
        fitted_on=date(2022, 5, 1),
    )  # fmt: skip

    answer = page(reader, farm, export="csv").content.decode("utf-8-sig")
    (row,) = tablib.Dataset().load(answer, format="csv").dict

    assert (row["on"], row["where_exactly"], row["film"]) == ("'=1+1", "'+2", "'@evil")


def test_metric_readers_get_metric_columns(reader, farm):
    Farm.objects.filter(pk=farm.pk).update(units="metric")
    make_component(make_box(farm), kind=Kind.ROOF_FILM, material=make_film(farm), fitted_on=date(2022, 5, 1))

    answer = page(reader, farm, export="csv").content.decode("utf-8-sig")
    (row,) = tablib.Dataset().load(answer, format="csv").dict

    assert float(row["roll_width_mm"]) == pytest.approx(14630.4, abs=0.05)  # 48 ft
    assert float(row["buy_m2"]) == pytest.approx(445.9, abs=0.05)  # 4,800 ft²


def test_a_farm_without_film_says_so(reader, farm):
    text = page(reader, farm).content.decode()

    assert "takes no film that can be ordered" in text
    assert text.count("Nothing to replace.") == 3
