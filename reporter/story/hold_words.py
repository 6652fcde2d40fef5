"""What keeps the ball on one side of a hazard, in one finished sentence, and where it is drawn."""

from reporter.flight import Explanation
from reporter.session.schema import Session
from reporter.speech import later, say
from reporter.story.report import HazardBlock
from reporter.story.wording import NO_BREAK, Lengths

SENTENCES = {
    ("left", True): later(
        "So 95 of 100 balls land left of {hazard}, with your own spread and {spare} to spare "
        "(computed)."
    ),
    ("right", True): later(
        "So 95 of 100 balls land right of {hazard}, with your own spread and {spare} to spare "
        "(computed)."
    ),
    ("left", False): later(
        "So this delivery lands left of {hazard} 95 times in 100, with {spare} to spare (computed)."
    ),
    ("right", False): later(
        "So this delivery lands right of {hazard} 95 times in 100, with {spare} to spare "
        "(computed)."
    ),
}


def hold_sentence(session: Session, explanation: Explanation) -> str:
    """Return on which side of the hazard the wanted flight lands; empty where none was named."""
    held = explanation.held
    if held is None:
        return ""
    lengths = Lengths(session.student.units)
    spare = lengths.amount(held.margin_m)
    if not lengths.number(held.margin_m):
        spare = say("less than {length}", length=f"1{NO_BREAK}{lengths.unit}")
    message = SENTENCES[held.hold.side, held.from_own_shots]
    return say(message, hazard=_name(session), spare=spare)


def hazard_block(session: Session, explanation: Explanation) -> HazardBlock | None:
    """Return the hazard to be drawn; None where none was named or its distance is not known."""
    held = explanation.held
    if held is None or held.hold.out_m is None:
        return None
    away = 1 if held.hold.side == "left" else -1
    return HazardBlock(held.hold.edge_m, away, held.hold.out_m, _name(session))


def _name(session: Session) -> str:
    hold = session.wanted.hold
    return hold.name if hold is not None and hold.name else say("the hazard")
