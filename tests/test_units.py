"""Numbers as RFC 8259 writes them, quantities by NIST's conversion factors."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reporter.units import (
    ANGLE_UNITS,
    LENGTH_UNITS,
    PRESSURE_UNITS,
    SPEED_UNITS,
    metres_to_yards,
    parse_number,
    parse_quantity,
    parse_sided_quantity,
    parse_temperature,
    parse_whole_number,
)


@pytest.mark.parametrize("text", ["0", "-4", "1.30", "2e3", "-0.5E-2", "400"])
def test_numbers_are_json_numbers(text):
    assert parse_number(text) == json.loads(text)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("nan", "not a number"),
        ("inf", "not a number"),
        ("-Infinity", "not a number"),
        ("1_000", "not a number"),
        ("007", "leading zeros"),
        ("7:30", "not a number"),
        ("0x10", "not a number"),
        ("1,5", 'write "1.5" with a point'),
        ("+5", "plus sign"),
        (".5", "not a number"),
        ("5.", "not a number"),
        ("1e999", "too large"),
        ("9" * 5000, "5000 characters"),
        ("٣٤", "digits 0 to 9"),
        ("１２", "digits 0 to 9"),
        ("5 m", "without a unit"),
        ("", "not a number"),
        ("5\n", "not a number"),
    ],
)
def test_other_spellings_are_refused(text, hint):
    with pytest.raises(ValueError, match=hint):
        parse_number(text)


@given(st.text(max_size=12))
def test_a_number_is_read_only_if_json_reads_it_too(text):
    try:
        value = parse_number(text)
    except ValueError:
        return
    assert value == json.loads(text)
    assert math.isfinite(value)


@given(st.integers(-999_999_999, 999_999_999))
def test_whole_numbers(number):
    assert parse_whole_number(str(number)) == number


@pytest.mark.parametrize("text", ["1.0", "01", "1e3", "-", "12345678901", "true"])
def test_other_whole_numbers_are_refused(text):
    with pytest.raises(ValueError, match="whole number"):
        parse_whole_number(text)


# NIST Special Publication 811 (2008), appendix B.8: the factors as printed there.
@pytest.mark.parametrize(
    ("text", "units", "value"),
    [
        ("1 mph", SPEED_UNITS, 4.4704e-1),
        ("1 km/h", SPEED_UNITS, 2.777778e-1),
        ("93mph", SPEED_UNITS, 93 * 4.4704e-1),
        ("41.6 m/s", SPEED_UNITS, 41.6),
        ("1 yd", LENGTH_UNITS, 9.144e-1),
        ("1 ft", LENGTH_UNITS, 3.048e-1),
        ("1 in", LENGTH_UNITS, 2.54e-2),
        ("1 inHg", PRESSURE_UNITS, 33.86389),
    ],
)
def test_quantities(text, units, value):
    assert parse_quantity(text, units, "") == pytest.approx(value, rel=1e-6)


def test_yards_and_metres():
    assert metres_to_yards(91.44) == pytest.approx(100.0)


# NIST SP 811 (2008), B.8: t/C = (t/F - 32)/1.8. 212 F is the boiling point of water.
@pytest.mark.parametrize(("text", "celsius"), [("20 C", 20), ("212 F", 100), ("-40 F", -40)])
def test_temperatures(text, celsius):
    assert parse_temperature(text) == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("2 deg left", -2), ("2 deg right", 2), ("-2 deg", -2), ("+2 deg", 2), ("0 deg", 0),
     ("2.5° left", -2.5), ("0 deg left", 0)],
)  # fmt: skip
def test_right_is_positive(text, degrees):
    assert parse_sided_quantity(text, ANGLE_UNITS, "") == degrees


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("2 deg", "to which side"),
        ("-2 deg left", "a sign and a side"),
        ("2 deg up", '"up" is not one of left, right'),
        ("2", "no unit"),
        ("2 m", "not one of deg"),
        ("2 deg left right", "cannot be read"),
        ("two deg left", "cannot be read|not a number"),
        ("1,5 deg left", 'write "1.5"'),
        ("--2 deg", "cannot be read|not a number"),
        ("", "cannot be read"),
    ],
)
def test_unclear_sides_are_refused(text, message):
    with pytest.raises(ValueError, match=message):
        parse_sided_quantity(text, ANGLE_UNITS, "an example")


@given(st.text(max_size=30))
def test_no_text_breaks_the_reader(text):
    for read in (
        lambda: parse_quantity(text, SPEED_UNITS, ""),
        lambda: parse_sided_quantity(text, LENGTH_UNITS, ""),
        lambda: parse_temperature(text),
    ):
        try:
            assert math.isfinite(read())
        except ValueError:
            continue
