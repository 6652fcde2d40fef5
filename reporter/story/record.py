"""The record strip: what the handout was made from, so that it can be read and proved later."""

from collections.abc import Mapping, Sequence

from reporter.flight import Explanation
from reporter.flight.explanation import Note
from reporter.measure.many import FOR_ONE_MEASURE, limit_among
from reporter.measure.measurement import Class, Measurement
from reporter.measure.pair_alignment import PairAlignment
from reporter.session.schema import Session
from reporter.speech import later, say
from reporter.story.camera_words import all_stayed, camera_line, camera_notes
from reporter.story.guardian import BLUR
from reporter.story.report import Paragraph, RecordTable, Run, Sheet
from reporter.story.wording import NO_BREAK, PLUS_MINUS, decimal, long_date, sentence

DIGEST_SHOWN = 12
MODELS = {
    "both-laboratories": later("drag and lift between two laboratories' published tests"),
}


def record_sheet(
    session: Session,
    measurements: Sequence[Measurement],
    explanation: Explanation | None,
    digests: Mapping[str, str],
    notes: Sequence[str],
    version: str,
    compared: Sequence[PairAlignment] = (),
    sizes: Mapping[str, tuple[int, int]] | None = None,
    *,
    among: int,
) -> Sheet:
    """Return the last sheet.

    Parameters
    ----------
    digests : mapping
        File name to SHA-256 of the lesson file and of each frame used.
    notes : sequence of str
        What happened on the way, such as location data dropped from a frame.
    version : str
        Of the program.
    compared : sequence of PairAlignment
        Pairs whose pictures were compared.
    sizes : mapping, optional
        Frame id to width and height of its upright picture, for a word on each camera.
    among : int
        How many measures the pages speak of together (`told_together`).
    """
    rows: list[tuple[str, str]] = []
    lesson, consent = session.lesson, session.consent
    if lesson.id:
        rows.append((say("Lesson"), lesson.id))
    given = [
        long_date(lesson.date) if lesson.date else "",
        lesson.place or "",
        say("coach {name}", name=lesson.coach) if lesson.coach else "",
    ]
    if any(given):
        rows.append((say("Given"), sentence(", ".join(part for part in given if part))))
    rows.append((say("Made by"), f"lesson-reporter {version}"))
    shown = "; ".join(f"{name} {digest[:DIGEST_SHOWN]}" for name, digest in digests.items())
    rows.append((say("Made from (first digits of SHA-256)"), shown))
    rows.append((say("Consent"), _consent(session)))
    if consent.until:
        rows.append((say("Kept until"), long_date(consent.until)))
    if any(frame.blur for frame in session.frames):
        rows.append((say("Blurred parts"), say(BLUR)))
    stayed = all_stayed(session, compared)
    noted = camera_notes(session, sizes, measurements, stayed=stayed) if sizes is not None else []
    cameras = camera_line(session, compared)
    if cameras and not (noted and stayed):
        rows.append((say("How the camera stood"), cameras))
    rows += noted
    if measurements:
        how = say("How to read {plus_minus}", plus_minus=PLUS_MINUS)
        rows.append((how, _plus_minus_told(among)))
        rows.append((say("Kinds of number"), _classes(measurements)))
    if any(frame.position == "impact" for frame in session.frames):
        strike = say(
            "A frame at the strike is the nearest one there was: {plus_minus}1 frame.",
            plus_minus=PLUS_MINUS,
        )
        rows.append((say("The strike"), strike))
    if explanation is not None:
        model = MODELS.get(explanation.model_name)
        told = say(
            "{notes} Model: {model}, version {version}.",
            notes=" ".join(_noted(note) for note in explanation.notes),
            model=say(model) if model is not None else explanation.model_name,
            version=explanation.model_version,
        )
        rows.append((say("Flight"), told))
    rows.append(
        (
            say("Size in print"),
            say(
                "The ticks under the head rule stand 5 mm apart, 100 mm in all, on a page printed "
                "at full size."
            ),
        )
    )
    rows.append(
        (
            say("Drills"),
            say(
                "Common practice; the amounts are starting points. No number of balls is promised "
                "to work."
            ),
        )
    )
    if notes:
        rows.append((say("Noted while building"), " ".join(sentence(note) for note in notes)))
    title = Paragraph((Run(say("What this handout was made from")),), "title")
    blocks: list[Paragraph | RecordTable] = [title]
    if session.notes:
        named = Run(say("Notes: "), bold=True)
        blocks.append(Paragraph((named, Run(session.notes)), "body", "notes"))
    blocks.append(RecordTable(tuple(rows)))
    return Sheet("record", say("Record"), tuple(blocks))


def _noted(note: Note) -> str:
    """Return a note with the numbers a reader may want to know."""
    if note.code == "air-used":
        values = dict(note.values)
        return say(
            "Air: {temperature}, {density}.",
            temperature=f"{decimal(values['temperature_c'], 0)}{NO_BREAK}°C",
            density=f"{decimal(values['density_kg_per_m3'], 2)}{NO_BREAK}kg/m³",
        )
    return note.text


def _plus_minus_told(among: int) -> str:
    """Return what a plus-or-minus means, and the word changed among so many measures."""
    if among < 2:
        return say(
            "{plus_minus} holds 19 times in 20 for each line by itself. It contains how well a "
            "point can be marked and how the camera may have stood. A change is called one only "
            "where it is larger than its own plus-or-minus; the others are not shown to have "
            "changed, which does not mean that they are the same.",
            plus_minus=PLUS_MINUS,
        )
    return say(
        "{plus_minus} holds 19 times in 20 for each line by itself. It contains how well a point "
        "can be marked and how the camera may have stood. Among {count} measures chance can make "
        "one look changed: the word needs {times} times the {plus_minus}, perhaps changed once. "
        "Not shown to have changed does not mean the same.",
        plus_minus=PLUS_MINUS,
        count=among,
        times=decimal(limit_among(among) / FOR_ONE_MEASURE, 1),
    )


def _consent(session: Session) -> str:
    consent = session.consent
    said = [
        say("photographs in the handout: yes")
        if consent.photos
        else say("photographs in the handout: no"),
        say("kept by the academy: yes") if consent.archive else say("kept by the academy: no"),
        say("shared with others: yes") if consent.share else say("shared with others: no"),
    ]
    text = sentence("; ".join(said))
    if session.student.is_minor and not consent.photos:
        drawn = say("A figure drawn from the marked points stands in place of each photograph.")
        text = f"{text} {drawn}"
    return text


def _classes(measurements: Sequence[Measurement]) -> str:
    used = {one.trust for one in measurements if one.value is not None}
    told = []
    if Class.MEASURED in used:
        told.append(say("measured: the number may be read as it stands"))
    if Class.CHANGE_ONLY in used:
        told.append(
            say("change only: the camera decides the number, so only its change is printed")
        )
    if Class.IMAGE_ANGLE in used:
        told.append(
            say("image angle: a slope on the picture, for comparison with the same view only")
        )
    return sentence("; ".join(told)) if told else say("None.")
