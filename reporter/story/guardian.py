"""The sheet for a minor's guardian: what is kept, by whom, until when, how to have it erased."""

from reporter.session.schema import Session
from reporter.speech import later, say, say_count
from reporter.story.report import Block, Paragraph, RecordTable, Run, Sheet, WritingLines
from reporter.story.wording import first_name, listed, long_date, sentence

BLUR = later(
    "Parts of the pictures are filled with one even colour, and what was there cannot be brought "
    "back. This does not make anybody anonymous: clothes, place and swing may still tell who it is."
)
RIGHTS = later(
    "You may ask at any time to see what is kept, to have it corrected, handed over or erased, "
    "and to take back a consent; nothing is lost by it. You may also turn to the data protection "
    "authority. The law where you live comes first."
)
SAFETY = later(
    "An adult stays near while a junior practises. Say before practice if anything hurts; pain "
    "that is sharp or lasts belongs to a doctor or physiotherapist. The rules of the range or "
    "club come first."
)


def guardian_sheet(session: Session) -> Sheet | None:
    """Return the sheet for the guardian of a minor; None for an adult."""
    if not session.student.is_minor:
        return None
    name = first_name(session)
    keeper = session.lesson.academy or session.lesson.coach or say("the coach who gave the lesson")
    whose = (
        say("For the guardian: what is kept of the lesson with {name}", name=name)
        if name
        else say("For the guardian: what is kept of this lesson")
    )
    title = Paragraph((Run(whose),), "title")
    blocks: list[Block] = [
        title,
        RecordTable(tuple(_rows(session, keeper)), "guardian"),
        WritingLines(say("Seen by the guardian, date"), 1, grow=False),
    ]
    return Sheet("guardian", say("For the guardian"), tuple(blocks))


def _rows(session: Session, keeper: str) -> list[tuple[str, str]]:
    consent = session.consent
    rows = [(say("What there is"), _things(session)), (say("Kept by"), sentence(keeper))]
    if consent.archive:
        until = (
            say("{date}; then it is erased.", date=long_date(consent.until))
            if consent.until
            else say("No end was agreed yet: agree on a date with the coach.")
        )
    else:
        until = say(
            "Keeping it was not allowed: once this handout is given, the lesson's file and "
            "pictures are erased."
        )
    rows.append((say("Kept until"), until))
    photographs = (
        say("Allowed in this handout.")
        if consent.photos
        else say("Not allowed: figures drawn from marked points stand in their place.")
    )
    rows.append((say("Photographs"), photographs))
    if any(frame.blur for frame in session.frames):
        rows.append((say("Blurred parts"), say(BLUR)))
    passed_on = (
        say("Allowed.")
        if consent.share
        else say("Not allowed: neither the handout nor pictures of it.")
    )
    rows.append((say("Passing on"), passed_on))
    rows.append((say("Consent given"), _given(session)))
    rows += [
        (
            say("To have it erased"),
            say(
                "Tell {keeper}, in any form and without a reason. The lesson's folder, every "
                "picture and every copy of this handout there are then erased, and you are told "
                "when it is done. Copies on paper are yours.",
                keeper=keeper,
            ),
        ),
        (say("Your rights"), say(RIGHTS)),
        (say("Practice"), say(SAFETY)),
        (
            say("Two copies"),
            say("One of this sheet for the family, one for the guardian's own papers."),
        ),
    ]
    return rows


def _things(session: Session) -> str:
    """Return what the lesson's folder holds."""
    lesson_file = (
        say("the lesson's file (first name, age group, thoughts, drills, marked points)")
        if session.student.name is not None
        else say("the lesson's file (age group, thoughts, drills, marked points)")
    )
    things = [lesson_file]
    if session.frames:
        things.append(
            say_count(
                "{number} still picture from the lesson's clips",
                "{number} still pictures from the lesson's clips",
                len(session.frames),
            )
        )
    if session.seen.shots:
        things.append(say("a table of shots"))
    if session.student.avoid:
        things.append(say("a list of what to leave out, without a diagnosis"))
    things.append(say("this handout"))
    return sentence(listed(things))


def _given(session: Session) -> str:
    consent = session.consent
    by = consent.by or consent.guardian
    if not by:
        return say("Nobody is named. What is not allowed above was not asked, or not given.")
    if consent.date:
        return sentence(say("by {name}, {date}", name=by, date=long_date(consent.date)))
    return sentence(say("by {name}", name=by))
