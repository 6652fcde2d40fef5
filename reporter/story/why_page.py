"""The page that says why the ball flew so: sentences, chain and figures in their order."""

from reporter.flight import Explanation
from reporter.session.schema import Session
from reporter.speech import say
from reporter.story.flight_figures import flight_picture
from reporter.story.flight_words import basis, chain, finding, wanted_text
from reporter.story.hold_words import hold_sentence
from reporter.story.report import Block, Paragraph, Run, Sheet


def why_sheet(session: Session, explanation: Explanation | None) -> Sheet | None:
    """Return the sheet that explains the flight; None where nothing was seen or wanted."""
    if explanation is None:
        return None
    now = explanation.now
    blocks: list[Block] = []
    if now is not None:
        blocks.append(Paragraph((Run(finding(now)),), "title", "seen"))
        blocks.append(chain(session, explanation, now))
    else:
        reason = explanation.face_reason.text if explanation.face_reason else ""
        title = say("Why the ball flew so: cannot tell from what was noted.")
        blocks.append(Paragraph((Run(title),), "title", "seen"))
        blocks.append(Paragraph((Run(reason),), "body", "seen"))
    wanted = wanted_text(session, explanation)
    if wanted:
        runs = [Run(say("Wanted instead: "), bold=True), Run(wanted)]
        held = hold_sentence(session, explanation)
        runs += [Run(f" {held}")] if held else []
        blocks.append(Paragraph(tuple(runs), "body", "wanted"))
    if now is not None and explanation.path_reason is not None:
        blocks.append(Paragraph((Run(explanation.path_reason.text),), "body", "seen"))
    picture = flight_picture(session, explanation)
    if picture is not None:
        blocks.append(picture)
    blocks.append(Paragraph((Run(basis(session, explanation)),), "note", "seen"))
    return Sheet("why", say("Why the ball flew so"), tuple(blocks))
