"""The core's keys in words: every key it can say has words, every word is said, and no blank is left open."""

import math
import re
from dataclasses import replace

import pytest
from django.utils import translation

from doors.codec import to_plain
from doors.sizing import (
    INCH,
    Check,
    DoorKind,
    Exit,
    Facts,
    Machine,
    Missing,
    Neighbour,
    Opening,
    Rules,
    Side,
    SideOperator,
    Site,
    Step,
    Verdict,
    size,
)
from doors.sizing.limits import LIMITS
from doors.sizing.missing import FILM_DOOR_BLOCKS, LEAF_BLOCKS
from doors.words import wording
from doors.words.names import BLOCKED, CHECKS, FIELDS, ITEMS, MARKS, PARTS, PLACES
from doors.words.sentences import REASONS, STEPS
from tests.openings import film, make_design, make_opening, make_wall, tube

UNITS = ("us", "metric")
ROD = make_design().rod


def beside(left, head=80.0, code="T1-P"):
    return (Neighbour(left=left * INCH, width=36 * INCH, head=head * INCH, code=code),)


def operator(travel, corner=Side.RIGHT):
    return {"side_operators": (SideOperator(corner=corner, travel_top=travel * INCH),)}


def every_sheet():
    """Size openings that meet each outcome of each check at least once."""
    kinds = [make_opening(kind=kind, rough_width=120 * INCH) for kind in DoorKind]
    changes = [
        {"rough_width": 90 * INCH}, {"rough_width": 276 * INCH, "offset": 40 * INCH},  # narrow, too wide
        {"rough_width": 264 * INCH, "offset": 40 * INCH}, {"offset": 1 * INCH}, {"rough_height": 150 * INCH},
        {"machine": None}, {"machine": Machine(width=100 * INCH, height=72 * INCH)},
        {"machine": Machine(width=130 * INCH, height=72 * INCH, name="")},
        {"wall": operator(30)}, {"wall": operator(50)}, {"wall": operator(60)},
        {"neighbours": beside(100)}, {"neighbours": beside(300, code="")}, {"neighbours": beside(300, head=20)},
        {"design": {"turning_tube": tube(1.66, stock=300)}}, {"design": {"turning_tube": tube(1.66, stock=100)}},
        {"design": {"post_tube": tube(1.66, stock=100)}}, {"wall": {"stud_face": 9 * INCH}},
        {"design": {"film": film(168)}}, {"design": {"film": film(20)}},
        {"header_depth": 16 * INCH}, {"header_depth": 32 * INCH},
        {"design": {"rod": replace(ROD, length=7 * INCH)}}, {"design": {"rod": replace(ROD, length=6 * INCH)}},
        {"design": {"rod": replace(ROD, nut_height=1 * INCH)}},
        {"offset": 20 * INCH, "design": {"drive_side": Side.LEFT}}, {"wall": {"side": 30 * INCH}},
        {"kind": DoorKind.PERSON, "rough_width": 9 * INCH}, {"kind": DoorKind.PERSON, "rough_width": 36 * INCH},
        {"kind": DoorKind.SLIDING_PAIR, "offset": 20 * INCH},
        *({"site": Site(diagonal_1=first * INCH, diagonal_2=180 * INCH)} for first in (180, 182)),
        {"site": Site(diagonal_1=182 * INCH, diagonal_2=182 * INCH)},
        *({"site": Site(exit=way, storm_angle=off)} for way, off in zip(Exit, (0.0, 1.0, math.pi), strict=True)),
        {"machine": Machine(width=80 * INCH, height=72 * INCH)},
    ]  # fmt: skip
    sheets = [size(opening) for opening in (*kinds, *(make_opening(**change) for change in changes))]
    sheets.append(
        size(make_opening(design={"turning_tube": tube(1.66, stock=149.75)}), Rules(clamp_joint_gap=5 * INCH))
    )
    return sheets


SHEETS = every_sheet()


def test_every_outcome_has_words_and_all_words_are_said():
    said = {check.reason for sheet in SHEETS for check in sheet.checks}

    assert said == set(REASONS)


def test_every_step_has_words_and_all_words_are_said():
    assert {step.step for sheet in SHEETS for step in sheet.steps} == set(STEPS)


def test_every_check_part_item_and_mark_has_a_name():
    cuts = {line.part for sheet in SHEETS for line in sheet.cuts}
    rows = {row for sheet in SHEETS for row in sheet.rows}
    hardware = {line for sheet in SHEETS for line in sheet.hardware}

    assert {check.check for sheet in SHEETS for check in sheet.checks} == set(CHECKS)
    assert cuts | {row.part for row in rows} == set(PARTS)
    assert {row.mark for row in rows} == set(MARKS)
    assert {line.item for line in hardware} | {"gearbox_left"} == set(ITEMS)
    assert {line.place for line in hardware} <= set(PLACES)


def test_every_input_that_can_be_missing_or_refused_has_a_name():
    blocks = FILM_DOOR_BLOCKS | LEAF_BLOCKS
    refused = {path for path in LIMITS if path != "design.drive_side"} | {"wall.points.count"}

    assert set(blocks) | refused | {"turning_bar", "clear_opening"} <= set(FIELDS)
    assert {key for keys in [*FILM_DOOR_BLOCKS.values(), *LEAF_BLOCKS.values()] for key in keys} == set(BLOCKED)


@pytest.mark.parametrize("units", UNITS)
def test_no_sentence_is_left_with_a_hole(units):
    for sheet in SHEETS:
        texts = [wording.check_text(check, units) for check in sheet.checks]
        texts += [wording.step_text(step, units) for step in sheet.steps]
        for text in texts:
            assert wording.BLANK not in text
            assert not re.search(r"[{}]|  | ,| \.|nan|None", text), text
            assert text[0].isupper() or text[0].isdigit() or text[0] in "–-−", text
            assert text.endswith("."), text


def test_a_sentence_prints_lengths_in_the_readers_units():
    check = Check(
        check="width",
        verdict=Verdict.PASS,
        reason="in_range",
        figures=Facts(lengths={"width": 3.6576, "least": 2.4384, "most": 6.7056}),
    )

    assert wording.check_text(check, "us") == (
        "12' 0\" wide lies within the usual 8' 0\" to 22' 0\" of a hand-cranked film door."
    )
    assert wording.check_text(check, "metric").startswith("3658 mm wide")


def test_what_is_not_known_is_a_blank_to_fill_in():
    bare = size(Opening(kind=DoorKind.MID_BAR, rough_width=3.0, rough_height=2.5))
    texts = {step.step: wording.step_text(step, "metric") for step in bare.steps}

    assert texts["prepare_bar"].startswith(
        f"Cut the turning bar to {wording.BLANK}. The drive end, on the {wording.BLANK}"
    )
    assert f"{wording.BLANK} long" in texts["guide_post"]
    assert "joined" not in texts["prepare_bar"]
    assert "crank" not in texts["test_roll"]


def test_numbers_print_whole_or_to_a_tenth():
    step = Step(step="test_roll", figures=Facts(numbers={"open": 10.2034, "crank": 3.0004}))
    with translation.override("de"):
        german = wording.step_text(step, "metric")

    assert "Expect 10.2 turns of the bar, 3 of the crank," in wording.step_text(step, "metric")
    assert "10,2" in german


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ({"field": "offset"}, "offset from the wall's left corner is missing"),
        ({"field": "clear_opening"}, "clear opening is missing"),
        ({"field": "something_new"}, "something new is missing"),
    ],
)
def test_a_check_not_made_names_its_input(names, said):
    check = Check(check="arch", verdict=Verdict.BLOCKED, reason="missing", figures=Facts(names=names))

    assert said in wording.check_text(check, "us")


def test_a_neighbour_without_a_code_is_another_opening():
    sheet = size(make_opening(neighbours=beside(100, code="")))
    text = next(wording.check_text(check, "us") for check in sheet.checks if check.reason == "overlaps")

    assert "overlaps another opening by" in text


def test_a_gap_says_what_it_blocks():
    gap = Missing(field="offset", blocks=("turning_bar", "arch_check"))

    assert wording.missing_text(gap) == (
        "Offset from the wall's left corner is missing; it blocks: turning bar, check of the arch over the jambs."
    )


def test_the_reason_of_a_verdict_in_one_sentence():
    check = next(check for check in size(make_opening(rough_height=150 * INCH)).checks if check.reason == "arch_low")
    gap = Missing(field="machine", blocks=("machine_check",))

    assert wording.reason_text({"check": to_plain(check)}, "us") == wording.check_text(check, "us")
    assert wording.reason_text({"missing": to_plain(gap)}, "us") == wording.missing_text(gap)
    assert wording.reason_text({}, "us") == ""


@pytest.mark.parametrize(
    ("refusal", "said"),
    [
        ({"field": "rough_width", "value": 9.1694, "relation": "at most", "limit": 9.144},
         "Rough width is 30' 1\" but must be at most 30' 0\"."),
        ({"field": "offset", "value": -0.0254, "relation": "at least", "limit": 0.0},
         "Offset from the wall's left corner is -1\" but must be at least 0\"."),
        ({"field": "design.gear_ratio", "value": 0.5, "relation": "above", "limit": 1.0, "is_length": False},
         "Gear ratio of the drive is 0.5 but must be more than 1."),
        ({"field": "wall.points.count", "value": 1.0, "relation": "at least", "limit": 2.0, "is_length": False},
         "Number of points of the measured profile is 1 but must be at least 2."),
        ({"field": "wall.ridge", "value": None, "relation": "finite", "limit": None}, "Ridge height must be a number."),
    ],
)  # fmt: skip
def test_a_refusal_in_one_sentence(refusal, said):
    assert wording.reason_text({"refusal": refusal}, "us") == said


def test_names_fall_back_on_the_key():
    assert wording.part_name("new_part") == "new part"
    assert wording.capitalised("T04-W") == "T04-W"
    assert wording.capitalised("") == ""


def test_names_of_all_sorts():
    assert wording.part_name("sill_bar") == "Sill bar"
    assert wording.mark_name("clamp") == "clamps"
    assert wording.item_name("nut") == "Nut"
    assert wording.place_name("jambs") == "both jambs"
    assert wording.check_name("arch") == "Arch over the jambs"
    assert wording.blocked_name("roll") == "roll and turns"


def test_the_walls_shape_of_the_core_is_spelled_like_the_registers():
    """A wall given without its shape is missing its shape, in words."""
    gap = next(gap for gap in size(make_opening(wall=make_wall(shape=None))).missing if gap.field == "wall.shape")

    assert wording.missing_text(gap).startswith("Tunnel shape is missing; it blocks: guide post")
