"""What to practise in finished words: drill cards, dated visits, if-then lines, cautions, card."""

import datetime
from dataclasses import replace

from reporter.session.schema import Session, WrittenDrill
from reporter.story.drills import Drill, bundled_drills
from reporter.story.practice_plan import PracticePlan, plan_visits
from reporter.story.report import (
    Block,
    DrillCard,
    Drills,
    Labelled,
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
from reporter.story.wording import NO_BREAK, middle_date, short_date

CARE = (
    "Move for five to eight minutes first and build up to full swings. Stop for sharp or lasting "
    "pain, numbness, dizziness or tightness in the chest, and ask a doctor or physiotherapist; "
    "coaching is not medical advice. Nobody within a club and a step; never step in front of the "
    "line. On hard mats hit fewer balls. At thunder leave, and wait 30 minutes after the last; in "
    "heat, shade and water. The rules of your range or club come first."
)
CARE_JUNIOR = (
    "Juniors practise with an adult near. A club that fits, short spells, and stop when it is no "
    "longer fun. "
)
ORDER_WORDS = {"blocked": "one at a time", "in-turn": "in turn", "mixed": "mixed"}
GATE_DRILL = "start-line-gate"
GATE_PRINTED_CM, GATE_DISTANCE_M = 45, 3.0
"""Width and distance of the gate as the drill list has it."""
GATE_DRAWN_CM = (20, 60)
"""Widths that the sketch has room to draw to scale."""
COUNT_WORDS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")


def drills_of(session: Session) -> tuple[tuple[Drill | None, WrittenDrill], ...]:
    """Return each written drill with the bundled one it builds on, if any."""
    known = {drill.id: drill for drill in bundled_drills()} if session.drills else {}
    return tuple((known.get(written.id or ""), written) for written in session.drills)


def cards_of(session: Session, shots: Shots | None = None) -> tuple[DrillCard, ...]:
    """Return the drill cards; what the coach wrote stands before what the list says.

    The gate of the start-line drill is as wide as the student's own shots ask, where there are
    enough of them.
    """
    cards = []
    for number, (drill, written) in enumerate(drills_of(session), start=1):
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
    printed = f"{GATE_PRINTED_CM} cm"
    easier, harder = (max(5 * round(width_cm * share / 5), 5) for share in (65 / 45, 35 / 45))
    low, high = GATE_DRAWN_CM
    half = min(max(width_cm, low), high) / 2
    items = []
    for item in drill.sketch.items:
        if isinstance(item, Dimension) and item.text == printed:
            (_, y), (_, other_y) = item.start, item.end
            item = replace(item, start=(-half, y), end=(half, other_y), text=f"{width_cm} cm")
        elif isinstance(item, Marker):
            item = replace(item, at=(half if item.at[0] > 0 else -half, item.at[1]))
        items.append(item)
    return replace(
        drill,
        set_up=drill.set_up.replace(printed, f"{width_cm} cm").rstrip(".")
        + f": your own gate, from {starts} starts.",
        easier=drill.easier.replace("65 cm", f"{easier} cm"),
        harder=drill.harder.replace("35 cm", f"{harder} cm"),
        sketch=replace(drill.sketch, items=tuple(items)),
    )


def _card(number: int, drill: Drill | None, written: WrittenDrill) -> DrillCard:
    def said(own: str | None, field: str) -> str:
        return own or (str(getattr(drill, field)) if drill is not None else "")

    tally = written.tally or ((drill.tally.sets, drill.tally.of) if drill is not None else (3, 10))
    lines = (
        ("Set up", said(written.set_up, "set_up")),
        ("Do", said(written.do, "do")),
        ("How much", said(written.dose, "dose")),
        ("It worked when", said(written.self_check, "self_check")),
    )
    small = (
        ("Easier", said(written.easier, "easier")),
        ("Harder", said(written.harder, "harder")),
        ("Care", said(written.caution, "care")),
    )
    name = said(written.name, "name") or f"Drill {number}"
    return DrillCard(
        number=number,
        name=name,
        lines=tuple((label, text) for label, text in lines if text),
        small_lines=tuple((label, text) for label, text in small if text),
        tally=tally,
        sketch=drill.sketch if drill is not None else None,
        alt=f"Sketch of the drill {name}: {said(written.set_up, 'set_up')}",
    )


def practice_plan(session: Session, today: datetime.date) -> PracticePlan:
    """Return the dated visits until the next lesson."""
    lesson_date = session.lesson.date or today
    following = session.lesson.next_lesson
    return plan_visits(
        lesson_date,
        following.day if following is not None else None,
        session.plan.visits_per_week,
        session.student.level,
        session.plan.minutes,
        session.plan.balls,
        [drill for drill, _ in drills_of(session) if drill is not None],
        junior=session.student.age_band in ("under-13", "13-15"),
        cold_test_balls=session.plan.cold_test_balls,
    )


def cold_test_words(session: Session) -> str:
    """Return what is counted in the cold test."""
    if session.plan.cold_test:
        return session.plan.cold_test
    drill = next(
        (drill for drill, _ in drills_of(session) if drill is not None and drill.balls), None
    )
    return f"good ones at {drill.name}" if drill is not None else "good strikes"


def practise_sheet(session: Session, plan: PracticePlan, shots: Shots | None = None) -> Sheet:
    """Return the practice sheet."""
    language = session.student.language
    cards = cards_of(session, shots)
    blocks: list[Block] = []
    count = len(plan.visits)
    counted = COUNT_WORDS[count] if count < len(COUNT_WORDS) else str(count)
    visits_word = "visit" if count == 1 else "visits"
    if cards:
        names = "drill" if len(cards) == 1 else "drills"
        number = COUNT_WORDS[len(cards)] if len(cards) < len(COUNT_WORDS) else str(len(cards))
        title = f"{number} {names}, {counted.lower()} {visits_word}."
        blocks.append(Paragraph((Run(title),), "title", "drills"))
        blocks.append(Drills(cards, session.student.plays == "right"))
    following = session.lesson.next_lesson
    until = f" before {middle_date(following.day, language)}" if following else " this week"
    test = plan.visits[0].cold_test_balls
    aside = f"first {test} balls cold: {cold_test_words(session)}" if test else ""
    blocks.append(_visits(plan, f"{counted} {visits_word}{until}", aside, language))
    lines = [
        (
            Run("If ", bold=True),
            Run(f"{_clause(one.when)}, "),
            Run("then ", bold=True),
            Run(one.then),
        )
        for one in session.plan.if_then
    ]
    if lines:
        blocks.append(SideNotes(tuple(lines)))
    if session.student_words:
        words = (Run("In your own words: ", bold=True), Run(session.student_words))
        blocks.append(Paragraph(words, "quote", "student_words"))
    else:
        blocks.append(WritingLines("In my own words", 3))
    care = (CARE_JUNIOR if session.student.is_minor else "") + CARE
    blocks.append(Labelled("Care", care))
    return Sheet("practise", "Practise", tuple(blocks))


def _visits(plan: PracticePlan, heading: str, aside: str, language: str) -> Visits:
    """Return the sheet to fill in: what each visit has of each part."""
    numbers = {name: str(number) for number, name in enumerate(_drill_ids(plan), start=1)}
    tries = {drill.id: drill.tally.of for drill in bundled_drills()} if numbers else {}
    has_play = any(part.kind == "play" for visit in plan.visits for part in visit.parts)
    has_test = any(visit.cold_test_balls for visit in plan.visits)
    columns = [
        "warm up",
        *(["cold test"] if has_test else []),
        *(f"drill {number}" for number in numbers.values()),
        *(["play"] if has_play else []),
        "how",
    ]
    rows = []
    for visit in plan.visits:
        found = {part.drill or part.kind: part for part in visit.parts}
        cells = [VisitCell(f"{found['warm-up'].minutes}{NO_BREAK}min", 1)]
        if has_test:
            cells.append(VisitCell(out_of=visit.cold_test_balls))
        for name in numbers:
            part = found.get(name)
            cells.append(VisitCell(f"× {tries[name]}", part.sets) if part else VisitCell("–"))
        if has_play:
            play = found.get("play")
            cells.append(VisitCell(f"{play.balls} balls", 1) if play else VisitCell("–"))
        cells.append(VisitCell(ORDER_WORDS[visit.order]))
        rows.append((short_date(visit.date, language), tuple(cells)))
    return Visits(heading, aside, tuple(columns), tuple(rows), _size_words(plan))


def _drill_ids(plan: PracticePlan) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            part.drill for visit in plan.visits for part in visit.parts if part.drill is not None
        )
    )


def _clause(text: str) -> str:
    return text.rstrip(".,; ")


def _size_words(plan: PracticePlan) -> str:
    """Return how long a visit is, and what a tick stands for."""
    minutes, balls = max(v.minutes for v in plan.visits), max(v.balls for v in plan.visits)
    size = f"A visit takes at most {minutes} minutes" + (f" and {balls} balls" if balls else "")
    return f"{size}. One box for each set; the cold test comes before any practice ball."


def card_sheet(session: Session, plan: PracticePlan, shots: Shots | None = None) -> Sheet:
    """Return the card for the bag."""
    cards = cards_of(session, shots)
    first = next((card for card in cards if card.sketch is not None), None)
    language = session.student.language
    test = plan.visits[0].cold_test_balls or session.plan.cold_test_balls
    card = RangeCard(
        thoughts=tuple(thought.say for thought in session.thoughts[:2]),
        sketch=first.sketch if first is not None else None,
        sketch_alt=first.alt if first is not None else "",
        tally_heading=f"{_capital(cold_test_words(session))}, of {test}",
        days=tuple(short_date(visit.date, language) for visit in plan.visits),
        out_of=test,
        note=next((text for label, text in first.lines if label == "It worked when"), "")
        if first is not None
        else "",
        right_handed=session.student.plays == "right",
    )
    return Sheet("card", "Card for the bag", (card,))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def first_visit(plan: PracticePlan, language: str) -> str:
    """Return the day of the first visit."""
    return middle_date(plan.visits[0].date, language)
