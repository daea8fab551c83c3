"""Prices of the book, whatever they are per, as the comparison of kinds takes them."""

from decimal import Decimal

import pytest

from doors.book import HARDWARE, STARTER_BOOK, TIMBER
from doors.models import Door, Material
from doors.pricing import CHOSEN, CHOSEN_HARDWARE, Book, per_metre, per_piece, per_square_metre, whole
from doors.words.names import ITEMS
from farm.models import Farm, Opening

INCH, FOOT = Decimal("25.4"), Decimal("304.8")  # mm, exact


def material(price="12.00", per="each", **values):
    return Material(code="M", name="Material", price=None if price is None else Decimal(price), price_per=per, **values)


@pytest.mark.parametrize(
    ("bought", "expected"),
    [
        (material("3.00", "m"), 3.00),
        (material("3.00", "ft"), 3.00 / 0.3048),
        (material("48.00", "stock", stock_length_mm=24 * FOOT), 48.00 / (24 * 0.3048)),
        (material("48.00", "each", stock_length_mm=24 * FOOT), 48.00 / (24 * 0.3048)),
        (material("48.00", "stock"), None),
        (material("3.00", "m2"), None),
        (material("3.00", ""), None),
        (material(None, "m"), None),
        (None, None),
    ],
)
def test_a_metre(bought, expected):
    assert per_metre(bought) == (None if expected is None else pytest.approx(expected))


@pytest.mark.parametrize(
    ("bought", "expected"),
    [
        (material("2.00", "m2"), 2.00),
        (material("0.16", "ft2"), 0.16 / 0.3048**2),
        (material("4.00", "m", roll_widths_mm=[5000]), 4.00 / 5),
        (material("4.00", "m", roll_widths_mm=[5000, 6000]), None),  # nobody can tell which roll was meant
        (material("4.00", "each"), None),
        (material(None, "m2"), None),
        (None, None),
    ],
)
def test_a_square_metre(bought, expected):
    assert per_square_metre(bought) == (None if expected is None else pytest.approx(expected))


@pytest.mark.parametrize(
    ("bought", "expected"),
    [
        (material("0.95", "each"), 0.95),
        (material("2.40", "stock"), 2.40),
        (material("3.00", "ft", stock_length_mm=FOOT), 3.00),  # a rod of one foot
        (material("3.00", "ft"), None),
        (material("3.00", "m2"), None),
        (material(None), None),
        (None, None),
    ],
)
def test_a_piece(bought, expected):
    assert per_piece(bought) == (None if expected is None else pytest.approx(expected))


def test_a_door_bought_complete_costs_by_the_piece_or_by_its_area():
    assert whole(material("2100.00", "each"), 11.0) == 2100
    assert whole(material("200.00", "m2"), 11.0) == 2200
    assert whole(None, 11.0) is None


def test_each_part_is_bought_as_what_was_chosen_or_what_the_book_says():
    bar, sill, drive = material(diameter_mm=INCH), material(diameter_mm=2 * INCH), material()
    clamp = Material(kind="clamp", code="C", diameter_mm=INCH)
    board = Material(kind="timber", code="STUD-2x4")
    hinge = Material(kind="other", code="HINGE")
    book = Book([clamp, board, hinge], Door(turning_tube=bar, sill_tube=sill, drive=drive))

    bought = {
        "turning_bar": bar, "sill_bar": sill, "gearbox_left:drive": drive, "clamp:turning_bar": clamp,
        "clamp:drive_strip": clamp, "clamp:sill_bar": None, "leaf_rail": board, "hinge:jambs": hinge,
        "latch:leaf": None, "film_panel": None,
    }  # fmt: skip
    assert {key: book.material(key) for key in bought} == bought


def test_clamps_of_a_bar_that_was_not_chosen_are_not_known():
    assert Book([], Door()).material("clamp:turning_bar") is None


def test_prices_of_a_door_are_collected_with_labour():
    film = material("2.00", "m2")
    book = Book(
        [
            Material(code="STUD-2x4", price=Decimal("4.80"), price_per="stock", stock_length_mm=8 * FOOT),
            Material(code="HINGE", price=Decimal("8.00"), price_per="each"),
            Material(code="DOOR-COIL", price=Decimal("100.00"), price_per="m2"),
        ],
        Door(film=film),
    )
    opening = Opening(rough_width_mm=Decimal(3000), rough_height_mm=Decimal(2000))

    prices = book.prices(opening, Farm(labour_rate=Decimal("26.00")))

    board = pytest.approx(4.80 / (8 * 0.3048))
    assert prices.per_length == {"inner_stud": board, "leaf_stile": board, "leaf_rail": board, "leaf_brace": board}
    assert prices.per_area == {"film_panel": 2.0, "drive_strip": 2.0, "leaf_film": 2.0}
    assert (prices.each, prices.complete, prices.labour) == ({"hinge": 8.0}, {"coil": pytest.approx(600)}, 26.0)


def test_nothing_is_priced_in_an_empty_book():
    prices = Book([], Door()).prices(Opening(rough_width_mm=Decimal(3000), rough_height_mm=Decimal(2000)), Farm())

    assert prices == type(prices)()


def test_the_starter_book_holds_everything_a_door_is_made_of():
    codes = {line["code"] for line in STARTER_BOOK}

    assert {*HARDWARE.values(), *TIMBER.values()} <= codes
    assert {item for item in ITEMS if item != "clamp"} == {*HARDWARE, *CHOSEN_HARDWARE}
    assert len(codes) == len(STARTER_BOOK)
    assert not {line.get("price") for line in STARTER_BOOK} - {None}


def test_every_choice_is_one_of_a_doors():
    names = {field.name for field in Door._meta.get_fields()}

    assert {*CHOSEN.values(), *CHOSEN_HARDWARE.values()} <= names
