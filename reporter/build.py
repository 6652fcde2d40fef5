"""The whole run: a lesson folder becomes a handout. Clock, paths and adapters enter here."""

import datetime
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from reporter import __version__
from reporter.draw import Properties, draw_pages
from reporter.errors import InputRefusedError, LimitError, Problem
from reporter.find_brand import find_brand
from reporter.flight import Explanation, ImpossibleDelivery
from reporter.flight_input import explanation_of, usable_shots
from reporter.measure import BY_ID, Measurement, measure_session
from reporter.pdf import belongs_to, count_pages
from reporter.print_pictures import print_pictures
from reporter.publish import publish
from reporter.session.frames import file_digest
from reporter.session.load import LoadedSession, load_session
from reporter.session.schema import Session
from reporter.story import Report, plan_report
from reporter.story.changes import photographs_allowed
from reporter.story.drills import bundled_drills, nearest
from reporter.typeset import load_page_layout, typeset_report
from reporter.typeset.faces import missing_glyphs

MOST_PAGES = 60
HANDOUT = "handout.pdf"


@dataclass(frozen=True, slots=True)
class Built:
    """What came out of a run."""

    path: Path
    pages: int
    warnings: tuple[str, ...]


def build_handout(
    lesson_file: Path,
    *,
    output: Path | None,
    brand: str | None,
    layout: str,
    paper: str,
    today: datetime.date,
    force: bool = False,
) -> Built:
    """Turn a lesson folder into a printed handout.

    Parameters
    ----------
    lesson_file : Path
        The lesson file.
    output : Path or None
        Where to; beside the lesson file if left out.
    brand : str or None
        Name of a brand or path of its folder; else the lesson's own, else plain.
    layout, paper : str
        Name of a layout, ``a4`` or ``letter``.
    today : date
        Stands in where the lesson has no date.
    force : bool
        Replace a file that is not this lesson's handout.

    Raises
    ------
    ReporterError
        With the exit code that fits: input refused, content that does not fit, cannot write.
    """
    loaded = load_session(lesson_file)
    check_references(loaded)
    with print_pictures(loaded) as pictures:
        pictures.open_early()
        measurements = measure_session(loaded.session, loaded.sizes)
        explanation = explain_flight(loaded)
        report = report_of(loaded, measurements, explanation, today=today)
        pages = typeset_report(
            report,
            load_page_layout(layout),
            find_brand(brand, loaded.session.lesson.brand, loaded.folder),
            paper,
        )
        if len(pages) > MOST_PAGES:
            message = f"the handout has {len(pages)} pages; at most {MOST_PAGES} are printed"
            raise LimitError(message)
        pictures.cut_early(pages)
        document = draw_pages(pages, properties_of(report, loaded), pictures.jpeg)
    target = output or loaded.folder / HANDOUT
    publish(
        target, document, is_ours=lambda path: belongs_to(path, lesson_mark(loaded)), force=force
    )
    return Built(target, count_pages(document), (*loaded.warnings, *_consent_notes(loaded.session)))


def explain_flight(loaded: LoadedSession) -> Explanation | None:
    """Return the explained flight, or refuse values that no shot can have, at their line."""
    try:
        shots = usable_shots(loaded.session, loaded.shots)
        return explanation_of(loaded.session, shots)
    except ImpossibleDelivery as error:
        problems = [loaded.problem("seen", complaint) for complaint in error.complaints]
        raise InputRefusedError(problems) from None


def check_references(loaded: LoadedSession) -> None:
    """Refuse unknown measures and drills, and characters that no typeface can write."""
    session = loaded.session
    problems: list[Problem] = []
    for index, pair in enumerate(session.pairs):
        for number, name in enumerate(pair.measures):
            if name not in BY_ID:
                problems.append(
                    loaded.problem(
                        ("pairs", index, "measures", number), _unknown("measure", name, BY_ID)
                    )
                )
    known = {drill.id: drill for drill in bundled_drills()} if session.drills else {}
    for index, written in enumerate(session.drills):
        if (
            written.id is not None
            and written.id not in known
            and not (written.do and written.set_up)
        ):
            problems.append(loaded.problem(("drills", index), _unknown("drill", written.id, known)))
    problems += _unwritable(loaded)
    if problems:
        raise InputRefusedError(problems)


def _unknown(kind: str, name: str, known: Mapping[str, object]) -> str:
    near = nearest(name, known)
    hint = f'; did you mean "{near}"?' if near else f"; there are {', '.join(sorted(known))}"
    return f'there is no {kind} "{name}"{hint}'


def _unwritable(loaded: LoadedSession) -> list[Problem]:
    """Return one problem for every printed text with a character that no typeface has."""
    problems = []

    def walk(value: object, path: tuple[str | int, ...]) -> None:
        if isinstance(value, str):
            missing = missing_glyphs(value)
            if missing:
                named = ", ".join(f"{c} (U+{ord(c):04X})" for c in missing[:5])
                message = f"the handout's typeface has no sign for {named}; write it another way"
                problems.append(loaded.problem(path, message))
        elif isinstance(value, dict):
            for key, inner in value.items():
                walk(inner, (*path, key))
        elif isinstance(value, list | tuple):
            for index, inner in enumerate(value):
                walk(inner, (*path, index))

    walk(loaded.session.model_dump(exclude={"private_notes", "frames", "takes"}), ())
    return problems


def report_of(
    loaded: LoadedSession,
    measurements: tuple[Measurement, ...],
    explanation: Explanation | None,
    *,
    today: datetime.date,
) -> Report:
    """Return what the handout says."""
    used = {name for pair in loaded.session.pairs for name in (pair.before, pair.after) if name}
    digests = {loaded.path.name: hashlib.sha256(loaded.source.text.encode()).hexdigest()}
    for frame in loaded.session.frames:
        if frame.id in used:
            digests[Path(frame.file).name] = file_digest(loaded.folder, frame.file)
    shots = usable_shots(loaded.session, loaded.shots)
    if loaded.session.seen.shots is not None:
        name = loaded.session.seen.shots
        digests[Path(name).name] = file_digest(loaded.folder, name)
    return plan_report(
        loaded.session,
        measurements,
        explanation,
        loaded.sizes,
        digests,
        today=today,
        version=__version__,
        notes=(*_consent_notes(loaded.session), *(shots.left_out if shots is not None else ())),
        shots=shots,
    )


def _consent_notes(session: Session) -> tuple[str, ...]:
    if photographs_allowed(session) or not session.frames:
        return ()
    return (
        "no consent for photographs of a minor: figures drawn from the marked points stand in "
        "their place",
    )


def lesson_mark(loaded: LoadedSession) -> str:
    """Return what tells this lesson's handout from any other file."""
    lesson = (
        loaded.session.lesson.id
        or hashlib.sha256(str(loaded.path.resolve()).encode()).hexdigest()[:16]
    )
    return f"lesson-reporter:{lesson}"


def properties_of(report: Report, loaded: LoadedSession) -> Properties:
    """Return what the file says about itself."""
    return Properties(
        title=report.title,
        author=report.author,
        subject=report.subject,
        language=report.language,
        creator=f"lesson-reporter {__version__}",
        identifier=lesson_mark(loaded),
    )
