"""Import of the book of materials and of counts of the store: both ways, and every bad cell named."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from doors.models import Material, Sizing, StockMove
from doors.services import resize_openings
from farm.models import Membership
from maintenance.stores import store
from tests.factories import inches, make_farm, make_material, make_opening, make_tunnel, make_wall
from tests.web.test_import import look, problems, take, upload

pytestmark = pytest.mark.django_db


def lies(farm, code):
    material = Material.objects.get(farm=farm, code=code)
    return sum((move.quantity for move in StockMove.objects.filter(material=material)), Decimal(0))


def test_new_materials_come_in(client, bare_farm):
    shown = look(
        client, bare_farm, "materials",
        "kind,code,name,diameter,wall,stock_length,roll_widths,price,price_per,in_use\n"
        "tube,P-1.66,Pipe,1.66 in,0.083 in,21 ft,,38.50,stock length,yes\n"
        "film,F-6,Film,,,,\"10'; 12'\",0.12,square foot,no\n",
    )  # fmt: skip
    assert problems(shown) == []
    assert not Material.objects.filter(farm=bare_farm).exists()

    answer = take(client, bare_farm, shown)

    pipe, film = Material.objects.filter(farm=bare_farm).order_by("-code")
    assert answer["Location"] == reverse("materials", args=[bare_farm.slug])
    assert (pipe.kind, pipe.diameter_mm, pipe.price, pipe.price_per) == (
        "tube",
        inches("1.66"),
        Decimal("38.50"),
        "stock",
    )
    assert (film.roll_widths_mm, film.price_per, film.is_in_book) == ([3048, 3657.6], "ft2", False)
    assert pipe.is_in_book


def test_a_list_of_codes_and_prices_brings_prices_up_to_date_and_nothing_else(client, bare_farm):
    make_material(bare_farm, code="P-1", name="Pipe", price=Decimal(1), price_per="each", notes="keep")
    other = make_material(make_farm(), code="P-1", price=Decimal(1), price_per="each")

    shown = look(client, bare_farm, "materials", "code,price\np-1,2.25\n", existing="update")
    take(client, bare_farm, shown, existing="update")

    pipe = Material.objects.get(farm=bare_farm)
    assert (pipe.code, pipe.price, pipe.price_per, pipe.notes) == ("P-1", Decimal("2.25"), "each", "keep")
    other.refresh_from_db()
    assert other.price == 1


def test_what_is_known_is_left_alone_unless_it_is_to_be_updated(client, bare_farm):
    make_material(bare_farm, code="P-1", price=Decimal(1), price_per="each")

    shown = look(client, bare_farm, "materials", "code,price\nP-1,9\n")

    assert len(shown.context["shown"].skipped) == 1
    take(client, bare_farm, shown)
    assert Material.objects.get(farm=bare_farm).price == 1


def test_a_size_that_changed_sizes_the_doors_again(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    tube = Material.objects.filter(farm=farm, kind="tube").order_by("pk")[0]
    before = Sizing.objects.filter(opening=opening).count()

    for header, value in (("price", "1"), ("diameter", "2.5 in")):
        text = f"code,{header},price_per,stock_length\n{tube.code},{value},piece,21 ft\n"
        take(client, farm, look(client, farm, "materials", text, existing="update"), existing="update")

    tube.refresh_from_db()
    assert (tube.price, tube.diameter_mm) == (1, inches("2.5"))
    assert Sizing.objects.filter(opening=opening).count() >= before


def test_every_bad_cell_of_a_material_is_named(client, bare_farm):
    make_material(bare_farm, code="P-1", wall_mm=None, diameter_mm=None, stock_length_mm=None)
    shown = look(
        client, bare_farm, "materials",
        "kind,code,name,diameter,wall,price,price_per,gear_ratio,in_use\n"
        ",N-1,,,,,,,\n"  # a new one without kind and name
        "rope,N-2,Rope,,,,,,\n"
        "tube,N-3,Tube,1 in,0.5 in,,,,\n"  # no hole left
        "tube,N-4,Tube,,,5,,,\n"  # a price of what?
        "tube,N-5,Tube,,,5,stock length,,\n"  # of no length
        "drive,N-6,Drive,,,,,0,maybe\n"
        "tube,n-2,Again,,,,,,\n"
        "tube,,No code,,,,,,\n"
        "tube,P-1,Pipe,,,-1,piece,,\n",
        existing="update",
    )  # fmt: skip

    assert problems(shown) == [
        (2, "kind", ""), (2, "name", ""), (3, "kind", "rope"), (4, "wall", "0.5 in"), (5, "price_per", ""),
        (6, "price_per", "stock length"), (7, "in_use", "maybe"), (7, "gear_ratio", "0"), (8, "code", "n-2"),
        (9, "code", ""), (10, "price", "-1"),
    ]  # fmt: skip
    assert take(client, bare_farm, shown).status_code == 422
    assert Material.objects.filter(farm=bare_farm).count() == 1


@pytest.mark.parametrize("wanted", ["csv", "xlsx"])
def test_the_book_comes_back_as_it_went_out(client, farm, wanted):
    Material.objects.filter(farm=farm, kind="clamp").update(is_in_book=False, notes="=1+1", price=3, price_per="each")
    before = list(Material.objects.filter(farm=farm).order_by("code").values())
    content = client.get(reverse("materials", args=[farm.slug]), {"export": wanted, "state": "all"}).content
    Material.objects.filter(farm=farm).update(
        name="x", trade_name="x", notes="x", is_in_book=True, price=None, price_per="", roll_widths_mm=[]
    )

    answer = upload(client, farm, "materials", content, f"book.{wanted}")
    shown = client.get(f"{answer['Location']}&existing=update")
    assert problems(shown) == []
    take(client, farm, shown, existing="update")

    after = list(Material.objects.filter(farm=farm).order_by("code").values())
    emptied = {"trade_name", "price_per", "notes", "roll_widths_mm"}  # an empty cell leaves what is stored
    for old, new in zip(before, after, strict=True):
        assert {k: v for k, v in new.items() if old[k] not in ("", None, []) or k not in emptied} == {
            k: v for k, v in old.items() if v not in ("", None, []) or k not in emptied
        }


def test_counts_correct_the_list_by_a_move(client, bare_farm, django_user_model):
    farm = bare_farm
    tube, film = make_material(farm, code="T-1"), make_material(farm, code="F-1")
    on = date.today() - timedelta(days=3)
    store.move(farm=farm, material=tube, quantity=Decimal(10), on=on, reason="bought")
    store.move(farm=farm, material=film, quantity=Decimal(2), on=on, reason="bought")
    store.move(farm=farm, material=tube, quantity=Decimal(1), on=on + timedelta(days=2), reason="used")

    shown = look(client, farm, "counts", f"code,counted,on,note\nt-1,8.5,{on},shelf\nF-1,2,,\n")
    assert problems(shown) == []
    answer = take(client, farm, shown)

    assert answer["Location"] == reverse("store", args=[farm.slug])
    (move,) = StockMove.objects.filter(farm=farm, reason="counted")
    assert (move.material, move.quantity, move.on, move.note) == (tube, Decimal("-1.5"), on, "shelf")
    assert move.by == Membership.objects.get(farm=farm).user
    assert lies(farm, "T-1") == Decimal("7.5")


def test_the_stores_own_list_is_a_sheet_to_count_on(client, bare_farm):
    tube = make_material(bare_farm, code="T-1", least_stock=1)
    store.move(farm=bare_farm, material=tube, quantity=Decimal(4), on=date(2024, 5, 1), reason="bought")
    content = client.get(reverse("store", args=[bare_farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")
    header, row = content.splitlines()
    cells = row.split(",")
    cells[header.split(",").index("lies_there")] = "3"

    shown = look(client, bare_farm, "counts", f"{header}\n{','.join(cells)}\n")
    take(client, bare_farm, shown)

    assert problems(shown) == []
    assert lies(bare_farm, "T-1") == 3


def test_every_bad_count_is_named(client, bare_farm):
    make_material(bare_farm, code="T-1")
    make_material(make_farm(), code="THEIRS")
    later = date.today() + timedelta(days=3)

    shown = look(
        client, bare_farm, "counts",
        f"code,counted,on\nTHEIRS,1,\n,1,\nT-1,-1,2024-05-01\nT-1,,2024-05-02\nT-1,many,2024-05-03\nT-1,1,{later}\n"
        "T-1,1,2024-05-04\nT-1,2,2024-05-04\nT-1,1,soon\n",
    )  # fmt: skip

    assert problems(shown) == [
        (2, "code", "THEIRS"), (3, "code", ""), (4, "counted", "-1"), (5, "counted", ""), (6, "counted", "many"),
        (7, "on", str(later)), (9, "code", "T-1"), (10, "on", "soon"),
    ]  # fmt: skip
    take(client, bare_farm, shown)
    assert not StockMove.objects.exists()
