"""The calendar file, read back by a calendar library and held against RFC 5545."""

import datetime
import time
import zoneinfo

import icalendar
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reporter.story.calendar_file import CalendarEvent, calendar_text, plan_events
from reporter.story.practice_plan import plan_visits

STAMP = datetime.datetime(2027, 5, 3, 18, 30, tzinfo=datetime.UTC)
MONDAY = datetime.date(2027, 5, 3)


def read(text: str) -> list[icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(text.encode())
    assert isinstance(calendar, icalendar.Calendar)
    return list(calendar.walk("VEVENT"))  # type: ignore[arg-type]


def plan_text(
    lesson: datetime.date = MONDAY, gap: int = 14, key: str = "lesson-7", **more: object
) -> str:
    following = lesson + datetime.timedelta(days=gap)
    plan = plan_visits(lesson, following, 3, "improving", 45, 60, ())
    return calendar_text(plan_events(plan, lesson_key=key, **more), stamp=STAMP)  # type: ignore[arg-type]


def test_another_library_reads_every_date_back() -> None:
    events = read(plan_text())
    days = [(event.decoded("dtstart") - MONDAY).days for event in events]
    assert days == [1, 3, 6, 8, 10, 13, 14]
    for event in events:
        start, end = event.decoded("dtstart"), event.decoded("dtend")
        assert type(start) is datetime.date
        assert end - start == datetime.timedelta(days=1)
        assert event.decoded("dtstamp") == STAMP
    assert str(events[0]["summary"]) == "Golf practice 1 of 6"
    assert str(events[-1]["summary"]) == "Golf lesson"


@pytest.mark.parametrize(
    "start",
    [
        datetime.date(2028, 2, 20),  # across a leap day
        datetime.date(2027, 12, 25),  # across the year's end
        datetime.date(2027, 3, 20),  # across the change to summer time in Europe
        datetime.date(2027, 10, 25),  # and back, in Europe and in the USA
    ],
)
def test_dates_hold_across_year_ends_and_clock_changes(start: datetime.date) -> None:
    days = [(event.decoded("dtstart") - start).days for event in read(plan_text(start))]
    assert days == [1, 3, 6, 8, 10, 13, 14]


def test_a_local_hour_stays_that_hour_when_the_clocks_change() -> None:
    start = datetime.date(2027, 3, 26)
    events = read(plan_text(start, gap=7, start=datetime.time(18, 0)))
    zone = zoneinfo.ZoneInfo("Europe/Berlin")
    for event in events[:-1]:
        begin = event.decoded("dtstart")
        assert begin.tzinfo is None  # "floating": RFC 5545, section 3.3.5, form 1
        assert begin.replace(tzinfo=zone).timetz().hour == 18
        assert event.decoded("dtend") - begin > datetime.timedelta(0)


def test_names_of_events_stay_and_tell_nothing() -> None:
    first, again = plan_text(key="Pim Ostrava 2027"), plan_text(key="Pim Ostrava 2027")
    assert first == again
    uids = [str(event["uid"]) for event in read(first)]
    assert len(uids) == len(set(uids))
    assert "Pim" not in first
    other = {str(event["uid"]) for event in read(plan_text(key="lesson-8"))}
    assert not other & set(uids)
    moved = read(plan_text(MONDAY + datetime.timedelta(days=1), key="Pim Ostrava 2027"))
    assert [str(event["uid"]) for event in moved] == uids


def lines(text: str) -> list[str]:
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert "\r" not in text.replace("\r\n", "")
    return text.split("\r\n")[:-1]


def test_required_properties_stand_in_the_file() -> None:
    # RFC 5545, sections 3.6 and 3.6.1: PRODID and VERSION once; UID and DTSTAMP in each event.
    written = lines(plan_text())
    assert written[0] == "BEGIN:VCALENDAR"
    assert written[-1] == "END:VCALENDAR"
    assert written.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in written) == 1
    for name in ("UID:", "DTSTAMP:", "DTSTART"):
        assert sum(line.startswith(name) for line in written) == 7


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.text(max_size=400))
@example("x" * 300)
@example("Ü" * 200)
@example("\N{GOLFER}" * 90)
def test_any_text_survives_folding_and_escaping(words: str) -> None:
    event = CalendarEvent("k", MONDAY, "Übung; eins, zwei \\ drei", words)
    text = calendar_text([event], stamp=STAMP)
    # RFC 5545, section 3.1: no line longer than 75 octets without its break.
    assert all(len(line.encode()) <= 75 for line in lines(text))
    (found,) = read(text)
    assert str(found["summary"]) == "Übung; eins, zwei \\ drei"
    wanted = words.replace("\r\n", "\n").replace("\r", "\n")
    wanted = "".join(c for c in wanted if c == "\n" or (ord(c) >= 32 and ord(c) != 127))
    assert str(found.get("description", "")) == wanted


def test_text_is_escaped_as_the_standard_asks() -> None:
    # RFC 5545, section 3.3.11: backslash, semicolon, comma and line break are escaped.
    text = calendar_text([CalendarEvent("k", MONDAY, "a; b, c \\ d\ne")], stamp=STAMP)
    assert "SUMMARY:a\\; b\\, c \\\\ d\\ne\r\n" in text


def test_the_stamp_is_universal_time_wherever_it_was_made(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    time.tzset()
    try:
        zone = datetime.timezone(datetime.timedelta(hours=2))
        stamp = datetime.datetime(2027, 5, 3, 20, 30, tzinfo=zone)
        assert "DTSTAMP:20270503T183000Z\r\n" in calendar_text(
            [CalendarEvent("k", MONDAY, "x")], stamp=stamp
        )
    finally:
        monkeypatch.undo()
        time.tzset()


def test_descriptions_go_with_their_visits() -> None:
    events = read(plan_text(descriptions=["first", "second"]))
    assert [str(event.get("description", "")) for event in events][:3] == ["first", "second", ""]


@pytest.mark.parametrize(
    ("events", "stamp", "words"),
    [
        ([], STAMP, "an event or more"),
        ([CalendarEvent("k", MONDAY, "x")], datetime.datetime(2027, 1, 1), "time zone"),
        (
            [CalendarEvent("k", MONDAY, "x", start=datetime.time(9, tzinfo=datetime.UTC))],
            STAMP,
            "without a zone",
        ),
    ],
)
def test_what_cannot_be_written_is_refused(
    events: list[CalendarEvent], stamp: datetime.datetime, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        calendar_text(events, stamp=stamp)
