"""The record strip: what the handout was made from, so that it can be read and proved later."""

from collections.abc import Mapping, Sequence

from reporter.flight import Explanation
from reporter.flight.explanation import Note
from reporter.measure.measurement import Class, Measurement
from reporter.measure.pair_alignment import PairAlignment
from reporter.session.schema import Session
from reporter.story.camera_words import all_stayed, camera_line, camera_notes
from reporter.story.guardian import BLUR
from reporter.story.report import Paragraph, RecordTable, Run, Sheet
from reporter.story.wording import NO_BREAK, PLUS_MINUS, long_date, sentence

DIGEST_SHOWN = 12
MODELS = {"both-laboratories": "drag and lift between two laboratories' published tests"}


def record_sheet(
    session: Session,
    measurements: Sequence[Measurement],
    explanation: Explanation | None,
    digests: Mapping[str, str],
    notes: Sequence[str],
    version: str,
    compared: Sequence[PairAlignment] = (),
    sizes: Mapping[str, tuple[int, int]] | None = None,
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
    """
    language = session.student.language
    rows: list[tuple[str, str]] = []
    lesson, consent = session.lesson, session.consent
    if lesson.id:
        rows.append(("Lesson", lesson.id))
    given = [
        long_date(lesson.date, language) if lesson.date else "",
        lesson.place or "",
        f"coach {lesson.coach}" if lesson.coach else "",
    ]
    if any(given):
        rows.append(("Given", sentence(", ".join(part for part in given if part))))
    rows.append(("Made by", f"lesson-reporter {version}"))
    shown = "; ".join(f"{name} {digest[:DIGEST_SHOWN]}" for name, digest in digests.items())
    rows.append(("Made from (first digits of SHA-256)", shown))
    rows.append(("Consent", _consent(session)))
    if consent.until:
        rows.append(("Kept until", long_date(consent.until, language)))
    if any(frame.blur for frame in session.frames):
        rows.append(("Blurred parts", BLUR))
    stayed = all_stayed(session, compared)
    noted = camera_notes(session, sizes, measurements, stayed=stayed) if sizes is not None else []
    cameras = camera_line(session, compared)
    if cameras and not (noted and stayed):
        rows.append(("How the camera stood", cameras))
    rows += noted
    if measurements:
        rows.append(
            (
                f"How to read {PLUS_MINUS}",
                f"{PLUS_MINUS} holds 19 times in 20 for each line by itself. It contains how well "
                "a point can be marked and how the camera may have stood. A change is called one "
                "only where it is larger than its own plus-or-minus; the others are not shown to "
                "have changed, which does not mean that they are the same.",
            )
        )
        rows.append(("Kinds of number", _classes(measurements)))
    if any(frame.position == "impact" for frame in session.frames):
        rows.append(
            (
                "The strike",
                f"A frame at the strike is the nearest one there was: {PLUS_MINUS}1 frame.",
            )
        )
    if explanation is not None:
        rows.append(
            (
                "Flight",
                " ".join(_noted(note) for note in explanation.notes)
                + f" Model: {MODELS.get(explanation.model_name, explanation.model_name)}, "
                f"version {explanation.model_version}.",
            )
        )
    rows.append(
        (
            "Size in print",
            "The ticks under the head rule stand 5 mm apart, 100 mm in all, on a page printed at "
            "full size.",
        )
    )
    rows.append(
        (
            "Drills",
            "Common practice; the amounts are starting points. No number of balls is promised "
            "to work.",
        )
    )
    if notes:
        rows.append(("Noted while building", " ".join(sentence(note) for note in notes)))
    title = Paragraph((Run("What this handout was made from"),), "title")
    blocks: list[Paragraph | RecordTable] = [title]
    if session.notes:
        blocks.append(Paragraph((Run("Notes: ", bold=True), Run(session.notes)), "body", "notes"))
    blocks.append(RecordTable(tuple(rows)))
    return Sheet("record", "Record", tuple(blocks))


def _noted(note: Note) -> str:
    """Return a note with the numbers a reader may want to know."""
    if note.code == "air-used":
        values = dict(note.values)
        return (
            f"Air: {values['temperature_c']:.0f}{NO_BREAK}°C, "
            f"{values['density_kg_per_m3']:.2f}{NO_BREAK}kg/m³."
        )
    return note.text


def _consent(session: Session) -> str:
    consent = session.consent
    said = [
        f"photographs in the handout: {'yes' if consent.photos else 'no'}",
        f"kept by the academy: {'yes' if consent.archive else 'no'}",
        f"shared with others: {'yes' if consent.share else 'no'}",
    ]
    text = "; ".join(said)
    if session.student.is_minor and not consent.photos:
        text += ". A figure drawn from the marked points stands in place of each photograph"
    return sentence(text)


def _classes(measurements: Sequence[Measurement]) -> str:
    used = {one.trust for one in measurements if one.value is not None}
    told = []
    if Class.MEASURED in used:
        told.append("measured: the number may be read as it stands")
    if Class.CHANGE_ONLY in used:
        told.append("change only: the camera decides the number, so only its change is printed")
    if Class.IMAGE_ANGLE in used:
        told.append("image angle: a slope on the picture, for comparison with the same view only")
    return sentence("; ".join(told)) if told else "None."
