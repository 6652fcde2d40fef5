"""What to practise in finished words: drill cards, dated visits, if-then lines, cautions, card."""

import datetime
from collections.abc import Sequence

from reporter.session.schema import Session, WrittenDrill
from reporter.speech import later, say, say_as, say_count
from reporter.story.drills import Drill
from reporter.story.follow_up import since_last_time
from reporter.story.lesson_drills import OWN_TALLY, PlannedDrill, doses_of, drills_of
from reporter.story.practice_patterns import bundled_patterns
from reporter.story.practice_plan import PracticePlan, plan_visits
from reporter.story.report import (
    Block,
    DrillCard,
    Drills,
    Labelled,
    LinkCode,
    Paragraph,
    RangeCard,
    Run,
    Sheet,
    SideNotes,
    VisitCell,
    Visits,
    WritingLines,
)
from reporter.story.shot_shares import Shots, own_gate_cm
from reporter.story.sketch import Dimension, Marker
from reporter.story.spoken_drills import reworded
from reporter.story.wording import NO_BREAK, middle_date, sentence, short_date

CARE = later(
    "Move for five to eight minutes first and build up to full swings. Stop for sharp or lasting "
    "pain, numbness, dizziness or tightness in the chest, and ask a doctor or physiotherapist; "
    "coaching is not medical advice. Nobody within a club and a step; never step in front of the "
    "line. On hard mats hit fewer balls. At thunder leave for a building or a car, and wait 30 "
    "minutes after the last; in heat, shade and water. The rules of your range or club come first."
)
CARE_JUNIOR = later(
    "Juniors practise with an adult near. A club that fits, short spells, and stop when it is no "
    "longer fun. "
)
AT_LESSON = later("at the lesson")
NOTES_FOR_STUDENTS = ("plan-too-short", "plan-drill-left-out", "plan-take-turns")
ORDER_WORDS = {
    "blocked": later("one at a time"),
    "in-turn": later("in turn"),
    "mixed": later("mixed"),
}
GATE_DRILL = "start-line-gate"
GATE_PRINTED_CM, GATE_DISTANCE_M = 45, 3.0
"""Width and distance of the gate as the drill list has it."""
GATE_DRAWN_CM = (20, 60)
"""Widths that the sketch has room to draw to scale."""
VISITS = (
    later("No visits"), later("One visit"), later("Two visits"), later("Three visits"),
    later("Four visits"), later("Five visits"), later("Six visits"), later("Seven visits"),
    later("Eight visits"), later("Nine visits"), later("Ten visits"),
)  # fmt: skip
DRILLS = (
    later("No drills"), later("One drill"), later("Two drills"), later("Three drills"),
    later("Four drills"), later("Five drills"), later("Six drills"), later("Seven drills"),
    later("Eight drills"), later("Nine drills"), later("Ten drills"),
)  # fmt: skip
"""Counts as headings say them, up to ten."""


def cards_of(
    session: Session, shots: Shots | None = None, known: Sequence[Drill] | None = None
) -> tuple[DrillCard, ...]:
    """Return the drill cards; what the coach wrote stands before what the list says.

    The gate of the start-line drill is as wide as the student's own shots ask, where there are
    enough of them.
    """
    cards = []
    for number, (drill, written) in enumerate(drills_of(session, known), start=1):
        if drill is not None and drill.id == GATE_DRILL and not written.set_up:
            gate = own_gate_cm(shots, GATE_DISTANCE_M)
            drill = drill if gate is None else with_gate(drill, *gate)
        cards.append(_card(number, drill, written))
    return tuple(cards)


def with_gate(drill: Drill, width_cm: int, starts: int) -> Drill:
    """Return the start-line drill with a gate of the student's own width.

    Parameters
    ----------
    drill : Drill
        As the list has it.
    width_cm : int
        Between the markers [cm]; the easier and the harder gate keep their proportion to it.
    starts : int
        Number of starts it was worked out from.
    """
    easier, harder = (max(5 * round(width_cm * share / 5), 5) for share in (65 / 45, 35 / 45))
    low, high = GATE_DRAWN_CM
    half = min(max(width_cm, low), high) / 2
    items = []
    for item in drill.sketch.items:
        if isinstance(item, Dimension) and _is_width(item.text, GATE_PRINTED_CM):
            (_, y), (_, other_y) = item.start, item.end
            item = reworded(item, start=(-half, y), end=(half, other_y), text=f"{width_cm} cm")
        elif isinstance(item, Marker):
            item = reworded(item, at=(half if item.at[0] > 0 else -half, item.at[1]))
        items.append(item)
    return reworded(
        drill,
        set_up=say(
            "{set_up}: your own gate, from {starts} starts.",
            set_up=_with_width(drill.set_up, GATE_PRINTED_CM, width_cm).rstrip("."),
            starts=starts,
        ),
        easier=_with_width(drill.easier, 65, easier),
        harder=_with_width(drill.harder, 35, harder),
        sketch=reworded(drill.sketch, items=tuple(items)),
    )


def _with_width(text: str, printed_cm: int, width_cm: int) -> str:
    """Return a text of the drill with another width in the place of the printed one."""
    return text.replace(f"{printed_cm} cm", f"{width_cm} cm").replace(
        f"{printed_cm}{NO_BREAK}cm", f"{width_cm}{NO_BREAK}cm"
    )


def _is_width(text: str, printed_cm: int) -> bool:
    return text.replace(NO_BREAK, " ") == f"{printed_cm} cm"


def _card(number: int, drill: Drill | None, written: WrittenDrill) -> DrillCard:
    def said(own: str | None, field: str) -> str:
        return own or (str(getattr(drill, field)) if drill is not None else "")

    tally = written.tally or OWN_TALLY
    if drill is not None and written.tally is None:
        tally = (drill.tally.sets, drill.tally.of)
    lines = (
        (say("Set up"), said(written.set_up, "set_up")),
        (say("Do"), said(written.do, "do")),
        (say("How much"), said(written.dose, "dose")),
        (say("It worked when"), said(written.self_check, "self_check")),
    )
    small = (
        (say("Easier"), said(written.easier, "easier")),
        (say("Harder"), said(written.harder, "harder")),
        (say_as("a drill", "Care"), said(written.caution, "care")),
    )
    name = said(written.name, "name") or say("Drill {number}", number=number)
    return DrillCard(
        number=number,
        name=name,
        lines=tuple((label, text) for label, text in lines if text),
        small_lines=tuple((label, text) for label, text in small if text),
        tally=tally,
        sketch=drill.sketch if drill is not None else None,
        alt=say(
            "Sketch of the drill {name}: {set_up}",
            name=name,
            set_up=said(written.set_up, "set_up"),
        ),
    )


def practice_plan(
    session: Session, today: datetime.date, known: Sequence[Drill] | None = None
) -> PracticePlan:
    """Return the dated visits until the next lesson; drills are named by their place, from 1.

    Raises
    ------
    PlanError
        If no plan can be made, with the field and the reason.
    """
    lesson_date = session.lesson.date or today
    following = session.lesson.next_lesson
    return plan_visits(
        lesson_date,
        following.day if following is not None else None,
        session.plan.visits_per_week,
        session.student.level,
        session.plan.minutes,
        session.plan.balls,
        doses_of(session, known),
        junior=session.student.age_band in ("under-13", "13-15"),
        cold_test_balls=session.plan.cold_test_balls,
    )


def cold_test_words(session: Session, known: Sequence[Drill] | None = None) -> str:
    """Return what is counted in the cold test."""
    if session.plan.cold_test:
        return session.plan.cold_test
    drill = next(
        (drill for drill, _ in drills_of(session, known) if drill is not None and drill.balls), None
    )
    if drill is None:
        return say("good strikes")
    return say("good ones at {drill}", drill=drill.name)


def practise_sheet(
    session: Session,
    plan: PracticePlan,
    shots: Shots | None = None,
    known: Sequence[Drill] | None = None,
) -> Sheet:
    """Return the practice sheet."""
    cards = cards_of(session, shots, known)
    blocks: list[Block] = []
    count = len(plan.visits)
    if cards:
        title = say("{drills}, {visits}.", drills=_drills_words(len(cards)), visits=_in_line(count))
        blocks.append(Paragraph((Run(title),), "title", "drills"))
        # The sheet is practised from alone, so the thoughts stand on it too.
        thoughts = " ".join(sentence(thought.say) for thought in session.thoughts)
        blocks.append(Paragraph((Run(thoughts, bold=True),), "body", "thoughts"))
        blocks.append(Drills(cards, session.student.plays == "right"))
    blocks += since_last_time(session)
    following = session.lesson.next_lesson
    heading = (
        say("{visits} before {date}", visits=_visits_words(count), date=middle_date(following.day))
        if following
        else say("{visits} this week", visits=_visits_words(count))
    )
    test = plan.visits[0].cold_test_balls
    counted = cold_test_words(session, known)
    aside = say("first {count} balls cold: {what}", count=test, what=counted) if test else ""
    blocks.append(_visits(plan, doses_of(session, known), heading, aside))
    if session.plan.pattern is not None:
        blocks.append(Labelled(say("Pattern"), pattern_words(session.plan.pattern)))
    lines = [
        (
            Run(say("If "), bold=True),
            Run(f"{_clause(one.when)}, "),
            Run(say("then "), bold=True),
            Run(one.then),
        )
        for one in session.plan.if_then
    ]
    if lines:
        blocks.append(SideNotes(tuple(lines)))
    if session.lesson.video_link is not None:
        blocks.append(video_link_block(session.lesson.video_link))
    if session.student_words:
        words = (Run(say("In your own words: "), bold=True), Run(session.student_words))
        blocks.append(Paragraph(words, "quote", "student_words"))
    else:
        blocks.append(WritingLines(say("In my own words"), 2))
    care = say(CARE)
    if session.student.is_minor:
        care = f"{say(CARE_JUNIOR)}{care}"
    blocks.append(Labelled(say_as("a sheet", "Care"), care))
    return Sheet("practise", say("Practise"), tuple(blocks))


def _visits_words(count: int) -> str:
    """Return a number of visits as a heading begins with it."""
    if count < len(VISITS):
        return say(VISITS[count])
    return say_count("{number} visit", "{number} visits", count)


def _in_line(count: int) -> str:
    """Return a number of visits as it stands within a line."""
    words = _visits_words(count)
    return words[:1].lower() + words[1:]


def _drills_words(count: int) -> str:
    """Return a number of drills as a heading begins with it."""
    if count < len(DRILLS):
        return say(DRILLS[count])
    return say_count("{number} drill", "{number} drills", count)


def video_link_block(address: str) -> LinkCode:
    """Return the address of the clips as the page shows it."""
    return LinkCode(
        label=say("Watch your clips again: scan, or type"),
        address=address,
        description=say("Opens your clips at {address}", address=address),
        alt=say("QR code that opens {address}", address=address),
    )


def pattern_words(pattern_id: str) -> str:
    """Return a practice pattern in words: its name, and its parts in their order."""
    pattern = next(one for one in bundled_patterns() if one.id == pattern_id)
    parts = []
    for number, part in enumerate(pattern.parts, start=1):
        size = [
            f"{part.minutes}{NO_BREAK}min" if part.minutes else "",
            say_count(
                "{number}\N{NO-BREAK SPACE}ball", "{number}\N{NO-BREAK SPACE}balls", part.balls
            )
            if part.balls
            else "",
        ]
        told = ", ".join(text for text in size if text)
        done = _clause(say(part.do))
        parts.append(f"{number}{NO_BREAK}{done}{f' ({told})' if told else ''}")
    return f"{say(pattern.name)}. {'; '.join(parts)}."


def visit_descriptions(
    session: Session, plan: PracticePlan, known: Sequence[Drill] | None = None
) -> tuple[str, ...]:
    """Return one line for each visit: what is done in which order; no person is named."""
    doses = {dose.id: dose for dose in doses_of(session, known)}
    told = []
    for visit in plan.visits:
        parts = []
        for part in visit.parts:
            if part.kind == "warm-up":
                parts.append(say("warm up {minutes} min", minutes=part.minutes))
            elif part.kind == "cold-test":
                what = cold_test_words(session, known)
                parts.append(say("{count} balls cold: {what}", count=part.balls, what=what))
            elif part.kind == "play":
                parts.append(say("play {count} balls", count=part.balls))
            else:
                dose = doses[part.drill or ""]
                parts.append(f"{dose.name} {part.sets} × {dose.tally.of}")
        told.append(f"{sentence('; '.join(parts))} {_capital(say(ORDER_WORDS[visit.order]))}.")
    return tuple(told)


def _visits(plan: PracticePlan, doses: Sequence[PlannedDrill], heading: str, aside: str) -> Visits:
    """Return the sheet to fill in: what each visit has of each part."""
    planned = {part.drill for visit in plan.visits for part in visit.parts}
    tries = {dose.id: dose.tally.of for dose in doses if dose.id in planned}
    has_play = any(part.kind == "play" for visit in plan.visits for part in visit.parts)
    has_test = any(visit.cold_test_balls for visit in plan.visits)
    columns = [
        say("warm up"),
        *([say("cold test")] if has_test else []),
        *(say("drill {number}", number=number) for number in tries),
        *([say("play")] if has_play else []),
        say("how"),
    ]
    rows = []
    for visit in plan.visits:
        found = {part.drill or part.kind: part for part in visit.parts}
        cells = [VisitCell(f"{found['warm-up'].minutes}{NO_BREAK}min", 1)]
        if has_test:
            cells.append(VisitCell(out_of=visit.cold_test_balls))
        for name, of in tries.items():
            part = found.get(name)
            cells.append(VisitCell(f"× {of}", part.sets) if part else VisitCell("–"))
        if has_play:
            play = found.get("play")
            cells.append(VisitCell(_balls(play.balls), 1) if play else VisitCell("–"))
        cells.append(VisitCell(say(ORDER_WORDS[visit.order])))
        rows.append((short_date(visit.date), tuple(cells)))
    if has_test and plan.retention_date is not None:
        # What has stayed shows at the next lesson, before any other ball.
        test = VisitCell(out_of=plan.visits[0].cold_test_balls)
        others = len(columns) - 3
        last = (VisitCell("", 1), test, *[VisitCell("–")] * others, VisitCell(say(AT_LESSON)))
        rows.append((short_date(plan.retention_date), last))
    return Visits(heading, aside, tuple(columns), tuple(rows), _size_words(plan))


def _clause(text: str) -> str:
    return text.rstrip(".,; ")


def _size_words(plan: PracticePlan) -> str:
    """Return how long a visit is, and what a tick stands for."""
    minutes, balls = max(v.minutes for v in plan.visits), max(v.balls for v in plan.visits)
    size = (
        say(
            "A visit takes at most {minutes} minutes and {balls} balls.",
            minutes=minutes,
            balls=balls,
        )
        if balls
        else say("A visit takes at most {minutes} minutes.", minutes=minutes)
    )
    ticks = say("One box for each set; the cold test comes before any practice ball.")
    why = (note.message for note in plan.notes if note.id in NOTES_FOR_STUDENTS)
    return " ".join((size, ticks, *why))


def _balls(count: int) -> str:
    return say_count("{number} ball", "{number} balls", count)


def card_sheet(
    session: Session,
    plan: PracticePlan,
    shots: Shots | None = None,
    known: Sequence[Drill] | None = None,
) -> Sheet:
    """Return the card for the bag."""
    cards = cards_of(session, shots, known)
    first = next((card for card in cards if card.sketch is not None), None)
    test = plan.visits[0].cold_test_balls or session.plan.cold_test_balls
    card = RangeCard(
        thoughts=tuple(thought.say for thought in session.thoughts[:2]),
        sketch=first.sketch if first is not None else None,
        sketch_alt=first.alt if first is not None else "",
        tally_heading=say(
            "{what}, of {count}", what=_capital(cold_test_words(session, known)), count=test
        ),
        days=tuple(short_date(visit.date) for visit in plan.visits),
        out_of=test,
        note=worked_when(first) if first is not None else "",
        right_handed=session.student.plays == "right",
    )
    return Sheet("card", say("Card for the bag"), (card,))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def worked_when(card: DrillCard) -> str:
    """Return by what a drill is seen to have worked; empty where nobody said so."""
    return dict(card.lines).get(say("It worked when"), "")


def first_visit(plan: PracticePlan) -> str:
    """Return the day of the first visit."""
    return middle_date(plan.visits[0].date)
