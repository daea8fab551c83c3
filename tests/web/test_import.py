"""Import: every bad cell is named, nothing is kept unless all is good, or somebody takes the good rows."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from doors.book import start_book
from doors.models import Component, Door, ImportDraft, Sizing
from doors.services import resize_openings
from farm.models import EndWall, Farm, Opening, Tunnel
from tests.factories import (
    feet,
    inches,
    make_component,
    make_farm,
    make_material,
    make_member,
    make_opening,
    make_tunnel,
    make_wall,
)

pytestmark = pytest.mark.django_db


def upload(client: Any, farm: Farm, kind: str, content: str | bytes, name: str = "table.csv") -> Any:
    """Choose a file on the import page."""
    content = content.encode() if isinstance(content, str) else content
    return client.post(
        reverse("import", args=[farm.slug]), {"kind": kind, "file": SimpleUploadedFile(name, content)}
    )  # fmt: skip


def look(client: Any, farm: Farm, kind: str, content: str | bytes, existing: str = "skip") -> Any:
    """Choose a file and return the page that shows its rows."""
    answer = upload(client, farm, kind, content)
    return client.get(f"{answer['Location']}&existing={existing}")


def problems(answer: Any) -> list[tuple[int, str, str]]:
    """Return row, column and value of every cell a page names."""
    return [(line.number, each.column, each.value) for line in answer.context["bad"] for each in line.problems]


def take(client: Any, farm: Farm, shown: Any, how: str = "all", existing: str = "skip") -> Any:
    """Press the button that imports."""
    draft = shown.context["draft"]
    url = reverse("import-preview", args=[farm.slug, draft.kind])
    return client.post(url, {"draft": draft.pk, "take": how, "existing": existing})


def test_tunnels_come_in_with_their_end_walls(client, farm):
    make_tunnel(farm, code="T07")
    shown = look(
        client, farm, "tunnels",
        "Code,NAME,Width,length (ft), ridge ,Direction,status\n"
        "T01,North,30',96,14' 6\",W,planned\n"
        ",South,360,29.26 m,,,\n",
    )  # fmt: skip
    assert problems(shown) == []
    assert not Tunnel.objects.filter(name="North").exists()

    answer = take(client, farm, shown)

    north, south = Tunnel.objects.get(name="North"), Tunnel.objects.get(name="South")
    assert answer["Location"] == reverse("tunnels", args=[farm.slug])
    assert (north.code, north.width_mm, north.length_mm, north.ridge_mm) == ("T01", feet(30), feet(96), feet("14.5"))
    assert (north.status, north.axis_bearing_deg) == ("planned", 270)
    assert dict(north.end_walls.values_list("end", "bearing_deg")) == {"A": Decimal(90), "B": Decimal(270)}
    assert (south.code, south.width_mm, south.length_mm, south.status) == ("T08", feet(30), Decimal(29260), "in_use")
    assert south.end_walls.count() == 2
    assert not ImportDraft.objects.exists()


def test_openings_come_in_sized_with_their_doors(client, farm):
    make_tunnel(farm, code="T01")
    shown = look(
        client, farm, "openings",
        "tunnel,wall,kind,rough width,rough height,offset,threshold,header_depth,crank side\n"
        "T01,W,\"film roll-up, mid-height bar\",12 ft,8 ft,9 ft,0,9 1/4,right\n"
        "t01,w,person,36 in,6' 8\",2 ft,0,,\n"
        "T01,A,mid_bar,10 ft,8 ft,10 ft,0,9.25,left\n",
    )  # fmt: skip
    assert problems(shown) == []

    take(client, farm, shown)

    assert dict(Opening.objects.values_list("code", "rough_width_mm")) == {
        "T01-W": feet(12), "T01-W2": inches(36), "T01-E": feet(10),
    }  # fmt: skip
    assert Opening.objects.get(code="T01-E").end_wall.end == "A"
    assert dict(Door.objects.values_list("opening__code", "drive_side")) == {
        "T01-W": "right", "T01-W2": "", "T01-E": "left",
    }  # fmt: skip
    assert Sizing.objects.count() == 3
    assert Door.objects.get(opening__code="T01-W").sizing.turning_bar_mm is not None


def test_parts_come_in_on_the_place_their_row_names(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")
    make_material(farm, code="CLAMP-X", kind="clamp")
    shown = look(
        client, farm, "components",
        "part,tunnel,wall,opening,where exactly,quantity,material,fitted on,removed_on,why_removed\n"
        "clamp,,,T01-W,left jamb,2.5,clamp-x,2024-05-01,,\n"
        "roof film,T01,,,,,,2022-05-01,2024-05-01,worn or aged\n"
        "end-wall film,T01,W,,,1,,2023-01-01,,\n",
    )  # fmt: skip
    assert problems(shown) == []

    take(client, farm, shown)

    clamp, roof, wall = Component.objects.order_by("kind")
    assert (clamp.opening, clamp.quantity, clamp.material.code) == (opening, Decimal("2.5"), "CLAMP-X")
    assert (roof.tunnel.code, roof.quantity, roof.removed_on) == ("T01", 1, date(2024, 5, 1))
    assert roof.removal_reason == "worn"
    assert wall.end_wall == opening.end_wall


def test_parts_come_in_with_how_they_failed_and_their_lot(client, farm):
    make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")
    shown = look(
        client, farm, "components",
        "part,opening,fitted_on,removed_on,why_removed,how_it_failed,cause,lot,printed side\n"
        "door film,T01-W,2021-05-01,2024-05-01,worn,torn,age and sun,L-77,\n"
        "door film,T01-W,2024-05-01,,,,,L-90,inside\n",
    )  # fmt: skip
    assert problems(shown) == []

    take(client, farm, shown)

    old, new = Component.objects.order_by("fitted_on")
    assert (old.failure_mode, old.failure_cause, old.lot, old.printed_side) == ("torn", "age", "L-77", "")
    assert (new.failure_mode, new.failure_cause, new.lot, new.printed_side) == ("", "", "L-90", "inside")


def test_a_part_in_service_has_not_failed(client, farm):
    make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")

    shown = look(client, farm, "components", "part,opening,fitted_on,how_it_failed\nclamp,T01-W,2024-05-01,broken\n")

    assert problems(shown) == [(2, "removed_on", "")]


def test_every_bad_cell_is_named_and_nothing_is_kept(client, farm):
    make_tunnel(farm, code="T01")
    shown = look(
        client, farm, "openings",
        "tunnel,wall,code,rough_width,rough_height,offset,kind,machine_width\n"
        "T01,W,GOOD,12 ft,8 ft,9 ft,,\n"
        "T99,W,,12 ft,8 ft,,,\n"
        "T01,N,,12 ft,8 ft,,,\n"
        "T01,E,,twelve,8 ft,,gate,-6 ft\n"
        "T01,E,,,8 ft,,,\n"
        "T01,E,,31 ft,8 ft,,,\n"
        "T01,W,,4 ft,6 ft,10 ft,,\n"
        "T01,E,GOOD,4 ft,6 ft,,,\n",
    )  # fmt: skip

    assert problems(shown) == [
        (3, "tunnel", "T99"),
        (4, "wall", "N"),
        (5, "rough_width", "twelve"),
        (5, "kind", "gate"),
        (5, "machine_width", "-6 ft"),
        (6, "rough_width", ""),
        (7, "rough_width", "31 ft"),
        (8, "offset", "10 ft"),
        (9, "code", "GOOD"),
    ]
    text = shown.content.decode()
    assert "Write a length" in text or "not a length" in text
    assert "overlaps opening GOOD" in text
    assert "Row 2 of this file is the same one" in text

    answer = take(client, farm, shown)

    assert answer.status_code == 422
    assert not Opening.objects.exists()


def test_the_good_rows_are_taken_when_somebody_says_so(client, farm):
    shown = look(client, farm, "tunnels", "name,width\nGood,30 ft\nBad,wide\n")

    answer = take(client, farm, shown, "good")

    assert answer.status_code == 302
    assert list(Tunnel.objects.values_list("name", flat=True)) == ["Good"]


def test_rows_the_register_knows_are_left_alone_or_updated_as_chosen(client, farm):
    make_tunnel(farm, code="T01", name="Old name", notes="keep me")
    table = "code,name,width,notes\nt01,New name,34 ft,\nT02,Another,,\n"

    shown = look(client, farm, "tunnels", table)
    assert (len(shown.context["shown"].skipped), shown.context["shown"].new_count) == (1, 1)
    take(client, farm, shown)
    assert Tunnel.objects.get(code="T01").name == "Old name"

    shown = look(client, farm, "tunnels", table.replace("t01", "T01"), existing="update")
    assert shown.context["shown"].updated_count == 2
    take(client, farm, shown, existing="update")

    tunnel = Tunnel.objects.get(code="T01")
    assert (tunnel.name, tunnel.width_mm, tunnel.notes) == ("New name", feet(34), "keep me")
    assert Tunnel.objects.count() == 2


def test_an_update_is_held_to_what_is_stored(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")
    resize_openings(farm=farm)

    tunnels = look(client, farm, "tunnels", "code,name,width\nT01,N,20 ft\n", existing="update")
    header = "tunnel,wall,code,rough_width,rough_height\n"
    openings = look(client, farm, "openings", f"{header}T01,W,T01-W,25 ft,\n", "update")
    moved = look(client, farm, "openings", f"{header}T01,E,T01-W,8 ft,\n", "update")

    assert problems(tunnels) == [(2, "width", "20 ft")]
    assert problems(openings) == [(2, "offset", "")]  # 9 ft and 25 ft are more than 30 ft
    assert problems(moved) == [(2, "wall", "E")]
    good = look(client, farm, "openings", f"{header}T01,W,T01-W,14 ft,\n", "update")
    take(client, farm, good, existing="update")
    opening.refresh_from_db()
    assert (opening.rough_width_mm, opening.rough_height_mm) == (feet(14), feet(8))
    assert Sizing.objects.filter(opening=opening).count() == 2


def test_a_tunnel_can_be_retired_and_brought_back_by_its_row(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm, code="T01")))

    take(client, farm, look(client, farm, "tunnels", "code,name,status\nT01,N,retired\n", "update"), existing="update")
    opening.refresh_from_db()
    assert opening.retired_on is not None

    take(client, farm, look(client, farm, "tunnels", "code,name,status\nT01,N,in use\n", "update"), existing="update")
    opening.refresh_from_db()
    assert opening.retired_on is None
    assert Tunnel.objects.get(code="T01").status == "in_use"


def test_the_same_part_twice_is_the_same_part(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")
    make_component(opening, kind="clamp", spot="Left jamb", fitted_on=date(2024, 5, 1), quantity=1)
    table = "part,opening,spot,quantity,fitted_on\nclamp,T01-W,left jamb,4,2024-05-01\n"

    shown = look(client, farm, "components", table)
    assert len(shown.context["shown"].skipped) == 1
    take(client, farm, look(client, farm, "components", table, "update"), existing="update")

    assert list(Component.objects.values_list("quantity", flat=True)) == [4]


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("clamp,,,2024-05-01,,", "tunnel"),
        ("clamp,NO,,2024-05-01,,", "opening"),
        ("clamp,T01-W,,5/1/2024,,", "fitted_on"),
        ("clamp,T01-W,,2999-01-01,,", "fitted_on"),
        ("clamp,T01-W,0,2024-05-01,,", "quantity"),
        ("clamp,T01-W,,2024-05-01,2024-04-01,worn", "removed_on"),
        ("clamp,T01-W,,2024-05-01,2024-06-01,", "why_removed"),
        ("clamp,T01-W,,2024-05-01,,worn", "removed_on"),
        ("wheel,T01-W,,2024-05-01,,", "part"),
        (",T01-W,,2024-05-01,,", "part"),
        ("clamp,T01-W,,,,", "fitted_on"),
    ],
)
def test_a_part_that_cannot_be_is_refused(client, farm, row, column):
    make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")

    shown = look(client, farm, "components", f"part,opening,quantity,fitted_on,removed_on,why_removed\n{row}\n")

    assert [name for _row, name, _value in problems(shown)] == [column]


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("colour,size\nred,12\n", "these are missing: name"),
        ("name,name\na,b\n", "twice: name"),
        ("name\n", "no rows below"),
        ("name\n,\n", "no rows below"),
    ],
)
def test_a_file_without_the_right_columns_is_stopped(client, farm, table, words):
    shown = look(client, farm, "tunnels", table)

    assert words in " ".join(shown.context["shown"].stops)
    assert take(client, farm, shown).status_code == 422
    assert not Tunnel.objects.exists()


def test_columns_that_are_not_read_are_named(client, farm):
    shown = look(client, farm, "tunnels", "name,colour\nNorth,red\n")

    assert shown.context["shown"].ignored == ("colour",)
    assert "colour" in shown.content.decode()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", b"", "empty"),
        ("a.xls", b"\xd0\xcf\x11\xe0", "Save it as .xlsx"),
        ("a.csv", b"x" * (5 * 1024 * 1024 + 1), "larger than 5 MB"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_a_sentence(client, farm, name, content, words):
    answer = upload(client, farm, "tunnels", content, name)

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not ImportDraft.objects.exists()


def test_no_file_at_all_is_a_sentence_too(client, farm):
    answer = client.post(reverse("import", args=[farm.slug]), {"kind": "tunnels"})

    assert answer.status_code == 422
    assert "Choose a file first." in answer.content.decode()


@pytest.mark.parametrize("draft", ["", "999999", "x", "²", "9" * 30, "-1"])
def test_a_draft_that_is_gone_is_said_so(client, farm, draft):
    answer = client.get(reverse("import-preview", args=[farm.slug, "tunnels"]), {"draft": draft})

    assert answer.status_code == 404
    assert "no longer kept" in answer.content.decode()


def test_drafts_are_forgotten_after_a_day(client, farm):
    upload(client, farm, "tunnels", "name\nNorth\n")
    ImportDraft.objects.update(created_at=timezone.now() - timedelta(days=1, minutes=1))

    upload(client, farm, "tunnels", "name\nSouth\n")

    assert [draft.grid[1] for draft in ImportDraft.objects.all()] == [["South"]]


@pytest.mark.parametrize("kind", ["tunnels", "openings", "components"])
@pytest.mark.parametrize("file_format", ["csv", "xlsx"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_template_can_be_filled_in_and_imported(client, kind, file_format, units):
    farm = make_farm(units=units)
    client.force_login(make_member(farm).user)
    start_book(farm=farm)
    opening = make_opening(make_wall(make_tunnel(farm, code="T13")), code="T13-W")
    make_material(farm, code="clamp-1.66")
    if kind == "openings":
        opening.delete()

    url = reverse("import-preview", args=[farm.slug, kind])
    template = client.get(url, {"template": file_format})
    answer = upload(client, farm, kind, template.content, f"template.{file_format}")

    shown = client.get(answer["Location"])
    assert problems(shown) == []
    assert len(shown.context["shown"].lines) == 1
    assert shown.context["shown"].ignored == ()


@pytest.mark.parametrize("file_format", ["csv", "xlsx"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_what_goes_out_comes_in_again_unchanged(client, units, file_format):
    farm = make_farm(units=units)
    start_book(farm=farm)
    client.force_login(make_member(farm).user)
    tunnel = make_tunnel(
        farm, code="T01", name="=North; \"long\", ñ", width_mm=Decimal("9144.396875"), length_mm=Decimal("29260.123"),
        shape="measured", profile_mm=[[0.0, 0.0], [4572.2, 4419.6], [9144.396875, 0.0]], ridge_mm=Decimal("4419.6"),
        east_mm=feet(-40), north_mm=Decimal("2597"), film_layers=2, has_left_rollup=False, has_right_rollup=True,
        left_operator_end="A", axis_bearing_deg=Decimal("283.25"), notes="two\nlines", shelter="half",
    )  # fmt: skip
    opening = make_opening(make_wall(tunnel), code="T01-W", offset_mm=Decimal("1000"), machine="cart",
                           machine_width_mm=feet(4), machine_height_mm=inches("60.125"))  # fmt: skip
    make_component(opening, spot="@clamp 4", quantity=Decimal("2.25"), notes="-")
    make_component(tunnel, kind="roof_film", removed_on=date(2024, 6, 1), removal_reason="storm")
    resize_openings(farm=farm)
    Door.objects.update(drive_side="left")
    resize_openings(farm=farm)
    models = {"tunnels": Tunnel, "openings": Opening, "components": Component}
    pages = {"tunnels": "tunnels", "openings": "doors", "components": "parts"}
    stored = {kind: list(model.objects.order_by("pk").values()) for kind, model in models.items()}
    sheets = Sizing.objects.count()

    for kind, page in pages.items():
        content = client.get(reverse(page, args=[farm.slug]), {"export": file_format, "state": "all"}).content
        shown = client.get(upload(client, farm, kind, content, f"a.{file_format}")["Location"] + "&existing=update")
        assert problems(shown) == []
        assert (shown.context["shown"].new_count, shown.context["shown"].updated_count) == (0, len(stored[kind]))
        assert take(client, farm, shown, existing="update").status_code == 302

    assert {kind: list(model.objects.order_by("pk").values()) for kind, model in models.items()} == stored
    assert Sizing.objects.count() == sheets
    assert EndWall.objects.count() == 2
