"""Quantities print in the reader's units, the other unit beside them."""

from decimal import Decimal
from fractions import Fraction
from html import unescape

import pint
import pytest
from django.template import Context, Template
from django.utils import translation

from farm.lengths import parse_length
from farm.templatetags.units import format_length
from farm.units import format_measure

convert = pint.UnitRegistry().Quantity

MISSING = '<span class="q" role="img" aria-label="not measured" title="not measured">–</span>'


def render(tag, **context):
    return Template("{% load units %}" + tag).render(Context(context))


@pytest.mark.parametrize(
    ("units", "html"),
    [
        ("us", '<span class="q" title="2597 mm">8&#x27; 6 1/4&quot;</span>'),
        ("metric", '<span class="q" title="8&#x27; 6 1/4&quot;">2597 mm</span>'),
    ],
)
def test_a_length_prints_in_the_readers_unit_with_the_other_in_the_tooltip(units, html):
    assert render("{% length v %}", v=2.597, units=units) == html
    assert render("{% length_mm v %}", v=Decimal("2597.000000"), units=units) == html


def test_outside_a_farm_lengths_are_in_feet():
    assert unescape(render("{% length 0.3048 %}")) == """<span class="q" title="305 mm">1' 0"</span>"""
    assert render("{% length 0.3048 %}", units="") == render("{% length 0.3048 %}", units="us")


def test_short_lengths_print_in_inches_below_three_feet():
    assert ">35&quot;<" in render("{% length v short=True %}", v=35 * 0.0254, units="us")
    assert ">3&#x27; 0&quot;<" in render("{% length v short=True %}", v=36 * 0.0254, units="us")
    assert 'title="35&quot;"' in render("{% length_mm v short=True %}", v=35 * 25.4, units="metric")


@pytest.mark.parametrize(("units", "text"), [("us", "8' 6 1/4\" (2597 mm)"), ("metric", "2597 mm (8' 6 1/4\")")])
def test_paper_shows_both_units(units, text):
    html = f'<span class="q">{text}</span>'

    assert unescape(render("{% length_both v %}", v=2.597, units=units)) == html
    assert unescape(render("{% length_both_mm v %}", v=Decimal(2597), units=units)) == html


@pytest.mark.parametrize(
    "tag", ["length", "length_mm", "length_both", "length_both_mm", "mass", "speed", "force", "area"]
)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_what_was_not_measured_says_so(tag, units):
    assert render(f"{{% {tag} v %}}", v=None, units=units) == MISSING
    assert render(f"{{% {tag} door.width %}}", door=None, units=units) == MISSING


@pytest.mark.parametrize("tag", ["length", "length_mm"])
def test_nought_was_measured(tag):
    assert unescape(render(f"{{% {tag} v %}}", v=0, units="us")) == """<span class="q" title="0 mm">0"</span>"""


def test_filters_print_plain_text():
    assert unescape(render("{{ v|feet_inches }} {{ v|mm }}", v=2.597)) == "8' 6 1/4\" 2597 mm"
    assert render("{{ v|feet_inches }} {{ v|mm }}", v=None) == "– –"


def test_python_code_prints_lengths_too():
    assert format_length(2.597, "us") == "8' 6 1/4\""
    assert format_length(Decimal("0.5"), "us", short=True) == '19 11/16"'
    assert format_length(2.597, "metric") == "2597 mm"
    assert format_length(None, "metric") == "–"


# Factors in the comments: NIST SP 811, appendix B.8 (from memory), seven figures.
@pytest.mark.parametrize(
    ("tag", "value", "us", "metric"),
    [
        ("mass", 11.158, "24.6 lb", "11.2 kg"),  # 1 lb = 0.4535924 kg
        ("speed", 13.85824, "31 mph", "13.9 m/s"),  # 1 mph = 0.44704 m/s
        ("force", 53.37866, "12 lbf", "53.4 N"),  # 1 lbf = 4.448222 N
        ("area", 18.44644, "199 ft²", "18.4 m²"),  # 1 ft² = 0.09290304 m²
        ("area", 0.5, "5.38 ft²", "0.5 m²"),
        ("mass", Decimal("544.3108"), "1200 lb", "544 kg"),
        ("force", 0, "0 lbf", "0 N"),
        ("force", -0.001, "0 lbf", "0 N"),
    ],
)
def test_other_quantities_print_to_three_figures(tag, value, us, metric):
    assert render(f"{{% {tag} v %}}", v=value, units="us") == f'<span class="q" title="{metric}">{us}</span>'
    assert render(f"{{% {tag} v %}}", v=value, units="metric") == f'<span class="q" title="{us}">{metric}</span>'


@pytest.mark.parametrize(
    ("kind", "source", "target"),
    [("mass", "kg", "lb"), ("speed", "m/s", "mph"), ("force", "N", "lbf"), ("area", "m**2", "ft**2")],
)
def test_other_quantities_agree_with_pint(kind, source, target):
    printed = format_measure(kind, 1000, "us").split()[0]

    assert float(printed) == pytest.approx(convert(1000, source).to(target).magnitude, abs=0.5)


@pytest.mark.parametrize(
    ("value", "printed"),
    [(0.004, "0"), (0.005, "0.01"), (9.994, "9.99"), (9.995, "10"), (99.94, "99.9"), (99.95, "100"), (100.5, "101")],
)
def test_three_figures_at_the_steps_halves_away_from_zero(value, printed):
    assert format_measure("mass", value, "metric") == f"{printed} kg"
    assert format_measure("mass", -value, "metric") == (f"-{printed} kg" if printed != "0" else "0 kg")


def test_spanish_readers_see_the_point_of_their_crews_and_a_number_with_a_comma_is_read():
    with translation.override("es"):
        printed = format_length(0.0095, "metric")
        assert printed == "9.5 mm"
        assert parse_length(printed, bare="in") == parse_length("9,5 mm", bare="in") == Fraction(19, 2)
        assert format_measure("mass", 11.158, "us") == "24.6 lb"
