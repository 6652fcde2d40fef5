"""Invented lessons: small record PDFs that read back as lessons, and entries by the thousand."""

import datetime
import json
import random
import zlib
from collections.abc import Iterator, Mapping, Sequence

from reporter.archive.entry import ColdTest, Entry, MeasureRow
from reporter.measure import BY_ID
from reporter.story.drills import bundled_drills

FIRST_DAY = datetime.date(2019, 1, 7)
NAMES = (
    "Abel", "Bruna", "Caspar", "Dorit", "Edda", "Falko", "Greta", "Hanno", "Ilka", "Jorin",
    "Kaja", "Lenz", "Mira", "Nelo", "Oda", "Pauk", "Rike", "Sören", "Tjark", "Ulla",
)  # fmt: skip
CLUBS = ("driver", "5-wood", "6-iron", "7-iron", "9-iron", "sand wedge")
MEASURES = tuple(name for name in BY_ID)


def pdf_with(
    files: Sequence[tuple[str, bytes]], keywords: str, title: str = "Lesson", pages: int = 1
) -> bytes:
    """Return a small PDF that carries files (ISO 32000-1, 7.5 and 7.11.4), written by hand."""
    objects: list[bytes] = []

    def add(body: bytes) -> int:
        objects.append(body)
        return len(objects)

    catalog, tree = add(b""), add(b"")
    leaves = [add(b"") for _ in range(pages)]
    for leaf in leaves:
        objects[leaf - 1] = b"<</Type/Page/Parent %d 0 R/MediaBox[0 0 200 200]>>" % tree
    kids = b" ".join(b"%d 0 R" % leaf for leaf in leaves)
    objects[tree - 1] = b"<</Type/Pages/Kids[%s]/Count %d>>" % (kids, pages)
    names = b""
    for name, data in files:
        packed = zlib.compress(data)
        stream = add(
            b"<</Type/EmbeddedFile/Filter/FlateDecode/Length %d>>stream\n%s\nendstream"
            % (len(packed), packed)
        )
        text = name.encode("latin-1")
        specification = add(
            b"<</Type/Filespec/F(%s)/UF(%s)/EF<</F %d 0 R>>>>" % (text, text, stream)
        )
        names += b"(%s)%d 0 R " % (text, specification)
    objects[catalog - 1] = (
        b"<</Type/Catalog/Pages %d 0 R/Names<</EmbeddedFiles<</Names[%s]>>>>>>" % (tree, names)
    )
    information = add(b"<</Keywords(%s)/Title(%s)>>" % (keywords.encode(), title.encode()))
    written = bytearray(b"%PDF-1.7\n")
    places = []
    for number, body in enumerate(objects, start=1):
        places.append(len(written))
        written += b"%d 0 obj" % number + body + b"\nendobj\n"
    table = len(written)
    written += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    written += b"".join(b"%010d 00000 n \n" % place for place in places)
    written += b"trailer<</Size %d/Root %d 0 R/Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (
        len(objects) + 1,
        catalog,
        information,
        table,
    )
    return bytes(written)


def record_pdf(
    lesson: str = "lesson-1",
    student: str | None = "S-1",
    name: str = "Mira",
    day: str = "2027-03-01",
    *,
    coach: str = "Odalys Brannock",
    thought: str = "Keep the chest behind the ball.",
    notes: str = "",
    private: str = "",
    drill: str = "start-line-gate",
    club: str = "driver",
    camera: str | None = "front tripod",
    values: Mapping[str, float] | None = None,
    plus_minus: float = 2.0,
    trust: str = "measured",
    tests: Sequence[tuple[str, int, int]] = (),
    cold_test: str = "drives through the gate",
    archive: bool = True,
    until: str = "2090-01-01",
    padding: int = 0,
    kind: str = "record",
) -> bytes:
    """Return a record PDF of one lesson with one pair of clips; `padding` makes it larger."""
    lines = [
        "format: 1",
        f"lesson: {{date: {day}, coach: {json.dumps(coach)}, academy: Fenwater Golf School}}",
        "student:",
        *([f"  id: {student}"] if student is not None else []),
        f"  name: {json.dumps(name)}",
        f"consent: {{photos: yes, archive: {'yes' if archive else 'no'}, until: {until}}}",
        "takes:",
    ]
    label = f", camera: {camera}" if camera is not None else ""
    for when in ("before", "after"):
        lines.append(f"  - {{id: {when}, when: {when}, view: face-on, club: {club}{label}}}")
    lines.append("frames:")
    lines += [
        f"  - {{id: f-{when}, take: {when}, position: impact, file: {when}.jpg}}"
        for when in ("before", "after")
    ]
    lines += [f"thoughts: [{json.dumps(thought)}]", f"drills: [{drill}]"]
    lines.append(f"plan: {{cold_test: {json.dumps(cold_test)}}}")
    if tests:
        lines.append("practised:")
        lines += [f"  - {{date: {d}, cold_test: [{hits}, {of}]}}" for d, hits, of in tests]
    if notes:
        lines.append(f"notes: {json.dumps(notes)}")
    if private:
        lines.append(f"private_notes: {json.dumps(private)}")
    measures = [
        {
            "id": measure,
            "frame": f"f-{when}",
            "view": "face-on",
            "position": "impact",
            "value": value + (1.0 if when == "after" else 0.0),
            "unit": "deg",
            "plus_minus": plus_minus,
            "class": trust,
            "reason": "",
        }
        for when in ("before", "after")
        for measure, value in (values if values is not None else {"spine-side-bend": 5.0}).items()
    ]
    making = {"format": 1, "copy": kind, "lesson": {"id": lesson, "date": day}}
    listed = {"format": 1, "measures": measures, "changes": []}
    files = [
        ("build.json", json.dumps(making).encode()),
        ("measurements.json", json.dumps(listed).encode()),
        ("session.yaml", "\n".join(lines).encode() + b"\n"),
    ]
    if padding:
        files.append(("frame-f-before.jpg", random.Random(padding).randbytes(padding)))
    mark = ("record-" if kind == "record" else "") + f"lesson-reporter:{lesson}"
    return pdf_with(files, mark, title=f"Golf lesson for {name}")


def vocabulary(words: int = 20_000) -> list[str]:
    """Return invented words, short ones first."""
    made = random.Random(7)
    beginnings = [*"bdfgklmnprstvwz", "st", "tr", "kl"]
    ends = [*"aeiou", "au", "ei"]
    found: dict[str, None] = {}
    while len(found) < words:
        count = 2 + len(found) * 3 // words
        found["".join(made.choice(beginnings) + made.choice(ends) for _ in range(count))] = None
    return list(found)


def entries(count: int, seed: int = 1, lessons_each: int = 10) -> Iterator[Entry]:
    """Yield entries as a busy academy has them: words by Zipf's law (1949), thirty measures."""
    made = random.Random(seed)
    words = vocabulary()
    weights = [1 / rank for rank in range(1, len(words) + 1)]
    cumulated = []
    total = 0.0
    for weight in weights:
        total += weight
        cumulated.append(total)
    drills = bundled_drills()
    coaches = [f"{made.choice(NAMES)} {made.choice(words).title()}" for _ in range(40)]
    students = max(1, count // lessons_each)
    for number in range(count):
        student = number % students
        day = FIRST_DAY + datetime.timedelta(days=(number // students) * 21 + student % 20)
        given = made.sample(drills, 3)
        club = CLUBS[student % len(CLUBS)]
        said = made.choices(words, cum_weights=cumulated, k=60)
        name = f"{NAMES[student % len(NAMES)]} {words[student % len(words)].title()}"
        yield Entry(
            lesson=f"lesson-{number:07d}",
            student=f"S-{student:06d}",
            student_name=name,
            day=day.isoformat(),
            coach=coaches[student % 40],
            academy="Fenwater Golf School",
            place="the east range",
            kind="full-swing",
            level=("new", "improving", "experienced")[student % 3],
            age_band="adult" if student % 7 else "13-15",
            plays="right",
            title=f"Golf lesson for {name}",
            minor=student % 7 == 0,
            pages=8,
            photos=True,
            archive=True,
            share=False,
            kept_until=(day + datetime.timedelta(days=3650)).isoformat(),
            next_lesson="",
            clubs=(club,),
            faults=tuple(sorted({fault for drill in given for fault in drill.faults})),
            drills=tuple(sorted(drill.id for drill in given)),
            cameras=("front tripod", "line tripod"),
            thoughts=" ".join(said[:20]),
            notes=" ".join(said[20:]),
            cold_test="drives through the gate",
            measures=tuple(
                MeasureRow(
                    measure=MEASURES[place % len(MEASURES)],
                    view="face-on",
                    position=("setup", "top", "impact")[place // len(MEASURES)],
                    when="before" if place % 2 else "after",
                    club=club,
                    camera="front tripod",
                    frame=f"frame-{place // 10}",
                    value=round(made.gauss(20.0, 6.0), 6),
                    plus_minus=2.5,
                    unit="deg",
                    trust="measured",
                )
                for place in range(30)
            ),
            tests=(ColdTest(day.isoformat(), made.randrange(11), 10),),
        )


def small_document(entry: Entry, size: int = 2_000) -> bytes:
    """Return bytes that stand for an entry's PDF where nobody reads it."""
    head = f"%PDF-1.7 {entry.lesson}\n".encode()
    return head + b"." * max(0, size - len(head))
