"""The core's dataclasses as JSON and back: keys end in their unit, a wrong value is named by its path."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

import pytest

from doors.codec import InputError, from_plain, path_in_json, schema_of, to_plain
from doors.sheets import (
    digest,
    inputs_from_json,
    inputs_to_json,
    refusal,
    schema,
    sheet_from_json,
    sheet_to_json,
    size_json,
)
from doors.sizing import INCH, Length, Opening, Rules, Sheet, SizingError, Stock, size
from tests.openings import make_opening


class Colour(StrEnum):
    RED = "red"
    BLUE = "blue"


@dataclass(frozen=True, kw_only=True)
class Nail:
    length: Length
    colour: Colour = Colour.RED
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class Box:
    width: Length
    depth: Length | None = None
    count: int = 0
    ratio: float = 1.0
    nails: tuple[Nail, ...] = ()
    corners: tuple[tuple[Length, Length], ...] = ()
    spare: Nail | None = None
    sizes: Mapping[str, float] = field(default_factory=dict)


def refused(cls, data):
    with pytest.raises(InputError) as caught:
        from_plain(cls, data)
    return caught.value.field, caught.value.value, caught.value.message


def test_lengths_are_written_in_millimetres():
    box = Box(width=0.5, depth=0.0254, count=2, nails=(Nail(length=0.06),), corners=((0.0, 1.0),), spare=None)

    assert to_plain(box) | {"sizes": None} == {
        "width_mm": 500.0,
        "depth_mm": 25.4,
        "count": 2,
        "ratio": 1.0,
        "nails": [{"length_mm": 60.0, "colour": "red", "name": ""}],
        "corners_mm": [[0.0, 1000.0]],
        "spare": None,
        "sizes": None,
    }


def test_whole_metres_are_lengths_too():
    assert to_plain(Nail(length=3))["length_mm"] == 3000


def test_binary_noise_is_not_written():
    # 0.1 + 0.2 m is 0.30000000000000004 m.
    assert to_plain(Nail(length=0.1 + 0.2))["length_mm"] == 300.0


def test_what_is_left_out_takes_its_default():
    assert from_plain(Box, {"width_mm": 10}) == Box(width=0.01)
    assert from_plain(Box, {"width_mm": 10, "depth_mm": None, "spare": {"length_mm": 1}}) == Box(
        width=0.01, spare=Nail(length=0.001)
    )


@pytest.mark.parametrize(
    ("data", "path", "value", "message"),
    [
        ([], "", [], "must be an object with the keys of Box"),
        ({"depth_mm": 1}, "width_mm", None, "is missing"),
        ({"width": 1}, "width", 1, "is not known; the keys are"),
        ({"width_mm": None}, "width_mm", None, "must not be null"),
        ({"width_mm": "1"}, "width_mm", "1", "must be a finite number"),
        ({"width_mm": True}, "width_mm", True, "must be a finite number"),
        ({"width_mm": math.inf}, "width_mm", math.inf, "must be a finite number"),
        ({"width_mm": 10**400}, "width_mm", 10**400, "must be a finite number"),
        ({"width_mm": 1, "count": 1.5}, "count", 1.5, "must be a whole number"),
        ({"width_mm": 1, "nails": {}}, "nails", {}, "must be a list"),
        ({"width_mm": 1, "nails": [{"length_mm": 1}, 7]}, "nails[1]", 7, "must be an object"),
        ({"width_mm": 1, "nails": [{}]}, "nails[0].length_mm", None, "is missing"),
        ({"width_mm": 1, "nails": [None]}, "nails[0]", None, "must not be null"),
        ({"width_mm": 1, "corners_mm": [[1]]}, "corners_mm[0]", [1], "must be a list of 2 numbers"),
        ({"width_mm": 1, "corners_mm": [[1, "2"]]}, "corners_mm[0][1]", "2", "must be a finite number"),
        ({"width_mm": 1, "spare": {"length_mm": 1, "colour": "green"}}, "spare.colour", "green", "one of red, blue"),
        ({"width_mm": 1, "spare": {"length_mm": 1, "colour": []}}, "spare.colour", [], "one of red, blue"),
        ({"width_mm": 1, "spare": {"length_mm": 1, "name": 5}}, "spare.name", 5, "must be text"),
    ],
)
def test_a_wrong_value_is_named_by_its_path(data, path, value, message):
    made = refused(Box, data)

    assert made[:2] == (path, value)
    assert message in made[2]


def test_a_whole_number_may_be_written_with_a_point():
    assert from_plain(Box, {"width_mm": 1, "count": 2.0}).count == 2


def test_a_kept_sheet_reads_back():
    sheet = size(make_opening())
    kept = json.loads(json.dumps(sheet_to_json(sheet), allow_nan=False))

    assert sheet_to_json(sheet_from_json(kept)) == kept


def test_figures_carry_their_unit_in_the_key():
    steps = {step["step"]: step["figures"] for step in sheet_to_json(size(make_opening()))["steps"]}

    assert steps["lines"]["lengths"] == pytest.approx({"rest_mm": 1371.6, "clamps_mm": 1270.0, "drop_mm": 101.6})
    with pytest.raises(InputError) as caught:
        sheet_from_json({**sheet_to_json(size(make_opening())), "steps": [{"step": "x", "figures": {"lengths": []}}]})
    assert (caught.value.field, caught.value.message) == ("steps[0].figures.lengths", "must be an object")


@pytest.mark.parametrize(
    ("path", "spelled"),
    [
        ("rough_width", "rough_width_mm"),
        ("wall.width", "wall.width_mm"),
        ("design.turning_tube.stock_length", "design.turning_tube.stock_length_mm"),
        ("design.film.roll_widths", "design.film.roll_widths_mm"),
        ("design.gear_ratio", "design.gear_ratio"),
        ("neighbours.left", "neighbours.left_mm"),
        ("wall.points.count", "wall.points_mm.count"),
        ("machine", "machine"),
    ],
)
def test_a_core_path_as_json_spells_it(path, spelled):
    assert path_in_json(Opening, path) == spelled


@pytest.mark.parametrize(
    ("error", "field", "message"),
    [
        (SizingError("wall.width", 61.0, "at most", 60.0), "wall.width_mm", "is 61000 but must be at most 60000"),
        (
            SizingError("rules.free_end", -1 * INCH, "at least", 0.0),
            "rules.free_end_mm",
            "is -25.4 but must be at least 0",
        ),
        (
            SizingError("rules.tail_wraps", 101.0, "at most", 100.0),
            "rules.tail_wraps",
            "is 101 but must be at most 100",
        ),
        (SizingError("wall.points.count", 1.0, "at least", 2.0), "wall.points_mm.count", "is 1 but must be at least 2"),
        (SizingError("design.gear_ratio", 0.0, "above", 0.0), "design.gear_ratio", "is 0 but must be above 0"),
        (SizingError("offset", math.nan, "finite"), "offset_mm", "is nan but must be finite"),
        # Both print in full where six figures would look alike.
        (
            SizingError("offset", 1.2345678, "at most", 1.2345677),
            "offset_mm",
            "is 1234.5678 but must be at most 1234.5677",
        ),
    ],
)
def test_a_refusal_in_the_units_of_json(error, field, message):
    assert (refusal(error).field, refusal(error).message) == (field, message)
    assert refusal(error, "[3]").field == f"[3].{field}"


def test_one_opening_or_a_list():
    one = {"kind": "coil", "rough_width_mm": 2400, "rough_height_mm": 2400}

    assert size_json([one, one]) == [size_json(one)] * 2
    assert size_json([]) == []


def test_rules_beside_an_opening_change_it():
    one = {"kind": "coil", "rough_width_mm": 2400, "rough_height_mm": 2400}

    assert size_json(one)["clear_width_mm"] == pytest.approx(2400 - 2 * 76.2)
    assert size_json({**one, "rules": {"coil_guide_mm": 100}})["clear_width_mm"] == pytest.approx(2200)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (7, "opening"),
        ([7], "[0]"),
        ([{}], "[0].kind"),
        ({"kind": "coil", "rough_width_mm": 1, "rough_height_mm": 1, "rules": None}, "rules"),
        (
            {"kind": "coil", "rough_width_mm": 1, "rough_height_mm": 1, "rules": {"size_step_mm": 0}},
            "rules.size_step_mm",
        ),
        ([{"kind": "coil", "rough_width_mm": -1, "rough_height_mm": 1}], "[0].rough_width_mm"),
    ],
)
def test_json_the_core_cannot_take(data, field):
    with pytest.raises(InputError) as caught:
        size_json(data)

    assert caught.value.field == field


def test_a_digest_changes_with_every_input_and_with_nothing_else():
    inputs = inputs_to_json(make_opening(), Rules())
    again = json.loads(json.dumps(inputs))

    assert digest(inputs) == digest(again)
    assert digest(inputs) != digest(inputs_to_json(make_opening(rough_width=3.0), Rules()))
    assert digest(inputs) != digest(inputs_to_json(make_opening(), Rules(free_end=9 * INCH)))


def test_kept_inputs_run_again():
    inputs = json.loads(json.dumps(inputs_to_json(make_opening(), Rules())))
    opening, rules = inputs_from_json(inputs)

    now, then = sheet_to_json(size(opening, rules)), sheet_to_json(size(make_opening()))

    assert [now[part] for part in ("cuts", "rows", "hardware", "panel", "verdict")] == [
        then[part] for part in ("cuts", "rows", "hardware", "panel", "verdict")
    ]
    assert now["roll"] == pytest.approx(then["roll"])


def test_inputs_kept_by_the_first_core_are_still_read():
    inputs = json.loads(json.dumps(inputs_to_json(make_opening(), Rules())))
    design = inputs["opening"]["design"]
    del design["channel"], design["wire"]
    design |= {"channel_stock_mm": 78 * 25.4, "wire_stock_mm": None}  # as core 1.0 wrote them

    opening, rules = inputs_from_json(inputs)

    assert opening.design.channel == Stock(stock_length=pytest.approx(78 * INCH))
    assert opening.design.wire is None
    assert replace(opening.design, channel=None, wire=None) == replace(
        from_plain(Opening, to_plain(make_opening())).design, channel=None, wire=None
    )
    assert rules == from_plain(Rules, to_plain(Rules()))
    assert "channel_stock_mm" in design  # what is kept stays as it was


def test_the_schema_names_both_sides():
    both = schema()

    assert both["input"]["$defs"]["Opening"]["required"] == ["kind", "rough_width_mm", "rough_height_mm"]
    assert both["input"]["$defs"]["Opening"]["properties"]["rules"] == {"$ref": "#/$defs/Rules"}
    assert both["output"]["$defs"]["Sheet"]["additionalProperties"] is False
    assert schema_of(Sheet)["$ref"] == "#/$defs/Sheet"


def test_a_class_is_described_by_its_types():
    described = schema_of(Box)["$defs"]

    assert described["Nail"]["properties"]["colour"] == {"type": "string", "enum": ["red", "blue"]}
    assert described["Box"]["properties"]["depth_mm"] == {"anyOf": [{"type": "number"}, {"type": "null"}]}
    assert described["Box"]["properties"]["count"] == {"type": "integer"}
    assert described["Box"]["properties"]["corners_mm"]["items"] == {
        "type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2,
    }  # fmt: skip
