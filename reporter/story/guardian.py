"""The sheet for a minor's guardian: what is kept, by whom, until when, how to have it erased."""

from reporter.session.schema import Session
from reporter.story.report import Block, Paragraph, RecordTable, Run, Sheet, WritingLines
from reporter.story.wording import first_name, listed, long_date, sentence

BLUR = (
    "Parts of the pictures are filled with one even colour, and what was there cannot be brought "
    "back. This does not make anybody anonymous: clothes, place and swing may still tell who it is."
)
RIGHTS = (
    "You may ask at any time to see what is kept, to have it corrected, handed over or erased, "
    "and to take back a consent; nothing is lost by it. You may also turn to the data protection "
    "authority. The law where you live comes first."
)
SAFETY = (
    "An adult stays near while a junior practises. Say before practice if anything hurts; pain "
    "that is sharp or lasts belongs to a doctor or physiotherapist. The rules of the range or "
    "club come first."
)


def guardian_sheet(session: Session) -> Sheet | None:
    """Return the sheet for the guardian of a minor; None for an adult."""
    if not session.student.is_minor:
        return None
    name = first_name(session)
    keeper = session.lesson.academy or session.lesson.coach or "the coach who gave the lesson"
    whose = f"the lesson with {name}" if name else "this lesson"
    title = Paragraph((Run(f"For the guardian: what is kept of {whose}"),), "title")
    blocks: list[Block] = [
        title,
        RecordTable(tuple(_rows(session, keeper)), "guardian"),
        WritingLines("Seen by the guardian, date", 1, grow=False),
    ]
    return Sheet("guardian", "For the guardian", tuple(blocks))


def _rows(session: Session, keeper: str) -> list[tuple[str, str]]:
    consent, language = session.consent, session.student.language
    rows = [("What there is", _things(session)), ("Kept by", sentence(keeper))]
    if consent.archive:
        until = (
            f"{long_date(consent.until, language)}; then it is erased."
            if consent.until
            else "No end was agreed yet: agree on a date with the coach."
        )
        rows.append(("Kept until", until))
    else:
        rows.append(
            (
                "Kept until",
                "Keeping it was not allowed: once this handout is given, the lesson's file and "
                "pictures are erased.",
            )
        )
    rows.append(
        (
            "Photographs",
            "Allowed in this handout."
            if consent.photos
            else "Not allowed: figures drawn from marked points stand in their place.",
        )
    )
    if any(frame.blur for frame in session.frames):
        rows.append(("Blurred parts", BLUR))
    rows.append(
        (
            "Passing on",
            "Allowed." if consent.share else "Not allowed: neither the handout nor pictures of it.",
        )
    )
    rows.append(("Consent given", _given(session)))
    rows += [
        (
            "To have it erased",
            f"Tell {keeper}, in any form and without a reason. The lesson's folder, every picture "
            "and every copy of this handout there are then erased, and you are told when it is "
            "done. Copies on paper are yours.",
        ),
        ("Your rights", RIGHTS),
        ("Practice", SAFETY),
        ("Two copies", "One of this sheet for the family, one for the guardian's own papers."),
    ]
    return rows


def _things(session: Session) -> str:
    """Return what the lesson's folder holds."""
    name = session.student.name is not None
    first = "first name, " if name else ""
    things = [f"the lesson's file ({first}age group, thoughts, drills, marked points)"]
    if session.frames:
        count = len(session.frames)
        things.append(f"{count} still picture{'s' if count != 1 else ''} from the lesson's clips")
    if session.seen.shots:
        things.append("a table of shots")
    if session.student.avoid:
        things.append("a list of what to leave out, without a diagnosis")
    things.append("this handout")
    return sentence(listed(things))


def _given(session: Session) -> str:
    consent = session.consent
    by = consent.by or consent.guardian
    on = long_date(consent.date, session.student.language) if consent.date else ""
    if not by:
        return "Nobody is named. What is not allowed above was not asked, or not given."
    return sentence(f"by {by}{', ' + on if on else ''}")
