"""A shot table is read exactly, or refused with row and column."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reporter.errors import InputRefusedError
from reporter.session.shots import LARGEST_FILE_BYTES, MOST_ROWS, read_shots


def refused(data: bytes | str) -> str:
    with pytest.raises(InputRefusedError) as caught:
        read_shots(data if isinstance(data, bytes) else data.encode(), "shots.csv")
    return str(caught.value)


def test_a_table():
    table = read_shots(
        b"\xef\xbb\xbfClub,carry (yd),start_deg,ball speed [mph],Remark\r\n"
        b'driver,200,-1.5,140,"good, solid"\r\n\r\n,,2,,\r\n',
        "shots.csv",
    )
    assert table.count == 2
    assert table.clubs == ("driver", None)
    # NIST SP 811 (2008), B.8: 1 yd = 0.9144 m, 1 mph = 0.447 04 m/s.
    assert table.columns["carry_m"] == (pytest.approx(182.88), None)
    assert table.columns["ball_speed_m_per_s"] == (pytest.approx(62.5856), None)
    assert table.columns["start_deg"] == (-1.5, 2.0)
    assert table.ignored == ("Remark",)


def test_a_declared_unit_serves_a_header_without_one():
    table = read_shots(b"carry\n100\n", "shots.csv", {"carry": "yd"})
    assert table.columns["carry_m"] == (pytest.approx(91.44),)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("carry_m,start_deg\n1,5,2\n", "shots.csv:2:0: the row has 3 cells, the header 2"),
        ("carry_m,start_deg\n1\n", "2:0: the row has 1 cells"),
        ('carry_m,start_deg\n"1,5",2\n', '2:1: carry_m: "1,5" is not a number; write "1.5"'),
        ("carry_m,carry_yd\n1,2\n", "1:2: carry_yd: column 1 holds the same"),
        ("x,carry_m,x\n1,2,3\n", "1:3: x: column 1 holds the same"),
        ("carry_m\nnan\n", '"nan" is not a number'),
        ("carry_m\ninf\n", "not a number"),
        ("carry_m\n1_000\n", "not a number"),
        ("carry_m\n٣٤\n", "use the digits 0 to 9"),
        ("carry_m\n=1+1\n", "not a number"),
        ("club,carry_m\n\"driver,1\niron,2\n", "2:0: a quote that opens here is never closed"),
        ('club,carry_m\n"dri"ver,1\n', "quote"),
        ("carry_m\n1\x00\n", "2:0: a NUL"),
        ("carry_m;start_deg\n1;2\n", "save the table with commas"),
        ("carry_m\tstart_deg\n1\t2\n", "save the table with commas"),
        ("carrry_m\n1\n", 'did you mean "carry"?'),
        ("carry\n1\n", "its unit is missing; write carry_m or carry_yd or carry_ft"),
        ("carry_deg\n1\n", "is not a unit for it"),
        ("a,b\n1,2\n", "no column is known"),
        ("", "is empty"),
        ("\n\n", "is empty"),
        ("carry_m\n", "no shots"),
        ("carry_m\n401\n", "out of range"),
        ("carry_yd\n500\n", "between 0 and 437.4"),
        ("club,carry_m\n\x1b[31m,1\n", "2:1: club: character 1 is U+001B"),
        ("carry_m\n" + "1" * 5_000 + "\n", "5000 characters"),
        (b"carry_m\n\xe4\n", "2:0: byte 9 (0xE4) is not UTF-8"),
        ("carry_m\n" + "1\n" * (MOST_ROWS + 1), "more than 20000 shots"),
        (b"carry_m\n" + b"1" * LARGEST_FILE_BYTES, "at most 4194304"),
    ],
)  # fmt: skip
def test_row_34_everything_else_is_refused_by_row_and_column(data, words):
    assert words in refused(data)


def test_a_broken_table_is_told_in_fifty_lines_at_most():
    assert len(refused("carry_m\n" + "x\n" * 500).splitlines()) == 50


@given(st.decimals(0, 400, places=3, allow_nan=False))
def test_row_34_numbers_are_decimals(number):
    written = format(number, "f")
    read = read_shots(f"carry_m\n{written}\n".encode(), "s").columns["carry_m"][0]
    assert read == float(Decimal(written))


@given(st.lists(st.text('a,"\n\r;1.-', max_size=12), max_size=6).map("\n".join)
       | st.text(max_size=60))  # fmt: skip
@settings(max_examples=300)
def test_no_text_raises_anything_but_a_refusal(text):
    for head in ("", "carry_m,club\n"):
        try:
            read_shots((head + text).encode("utf-8", "surrogatepass"), "shots.csv")
        except InputRefusedError:
            continue
