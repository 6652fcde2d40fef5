"""Advice on a lesson: what a coach may want to change before printing; never a refusal.

Each piece of advice has an id that stays the same, the field it is about, a message, a reason and
the key of its source. A coach silences it by id with a reason of their own. The student's own
words are not among the facts and are never looked at.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from reporter.story import advice_words as look
from reporter.story.advice_facts import LessonFacts
from reporter.story.advice_sources import RULES
from reporter.story.drill_words import AVOID
from reporter.story.drills import contradicting_pairs, nearest
from reporter.story.practice_plan import NOTE_IDS

MOST_THOUGHTS = 2
MOST_DRILLS = 3
MOST_MARKS = 3
LEAST_SHOTS = 10
FAR_LESSON_DAYS = 14
CHILDREN = ("under-13", "13-15")
MINORS = ("under-13", "13-15", "16-17")


@dataclass(frozen=True, slots=True)
class Advice:
    """One piece of advice.

    Attributes
    ----------
    id : str
        Stays the same from version to version; what a coach silences.
    field : str
        Dotted path in the lesson file.
    message : str
        What was found, and what could be done.
    reason : str
        Why it may matter, in one sentence.
    source_key : str
        Key of `SOURCES`; docs/advice.md tells how strong each is.
    kind : str
        ``warning`` or, for what is a matter of taste or contested, ``note``.
    offer : str
        A wording to use instead, or nothing.
    """

    id: str
    field: str
    message: str
    reason: str
    source_key: str
    kind: Literal["warning", "note"] = "warning"
    offer: str = ""


Found = tuple[str, str, str]
"""Field, message, offered wording."""


def advise(facts: LessonFacts) -> tuple[Advice, ...]:
    """Return the advice on a lesson, in the order of the rules, without what was silenced."""
    quiet = {name for name, reason in facts.silence if reason.strip()}
    return tuple(found for found in _all_advice(facts) if found.id not in quiet)


def silenced_advice(facts: LessonFacts) -> tuple[tuple[Advice, str], ...]:
    """Return the advice that was silenced, each with the coach's reason, for the build log."""
    reasons = {name: reason.strip() for name, reason in facts.silence if reason.strip()}
    return tuple((found, reasons[found.id]) for found in _all_advice(facts) if found.id in reasons)


def _all_advice(facts: LessonFacts) -> Iterator[Advice]:
    """Ask every rule."""
    for name, rule in RULES.items():
        for field, message, offer in _LOOKS[name](facts):
            yield Advice(name, field, message, rule.reason, rule.source_key, rule.kind, offer)


def _thoughts_many(facts: LessonFacts) -> Iterator[Found]:
    if (count := len(facts.thoughts)) > MOST_THOUGHTS:
        yield "thoughts", f"{count} key thoughts; {MOST_THOUGHTS} are easier to keep", ""


def _thoughts_no_priority(facts: LessonFacts) -> Iterator[Found]:
    if len(facts.thoughts) > 1 and not any(thought.because for thought in facts.thoughts):
        message = "nothing says which thought matters most; put it first and give its reason"
        yield "thoughts.0.because", message, ""


def _drills_many(facts: LessonFacts) -> Iterator[Found]:
    if (count := len(facts.drills)) > MOST_DRILLS:
        yield "drills", f"{count} drills; {MOST_DRILLS} are more likely to be done", ""


def _cues(facts: LessonFacts) -> Iterator[tuple[str, str]]:
    """Yield field and wording of the thoughts, where the language is one the lists know."""
    if facts.language.startswith("en"):
        for place, thought in enumerate(facts.thoughts):
            yield f"thoughts.{place}.say", thought.say


def _texts(facts: LessonFacts) -> Iterator[tuple[str, str]]:
    """Yield field and wording of everything the coach says to the student."""
    yield from _cues(facts)
    if facts.language.startswith("en"):
        for place, thought in enumerate(facts.thoughts):
            yield f"thoughts.{place}.because", thought.because
        yield from facts.frame_sentences
        yield from facts.other_texts


def _cue_vague(facts: LessonFacts) -> Iterator[Found]:
    for field, cue in _cues(facts):
        if look.is_vague(cue):
            message = f'"{cue}" names nothing to act on; say which thing goes where'
            yield field, message, ""


def _cue_long(facts: LessonFacts) -> Iterator[Found]:
    for field, cue in _cues(facts):
        if count := look.too_long(cue):
            message = f"{count} words; {look.MOST_CUE_WORDS} or fewer stay in mind during a swing"
            yield field, message, ""


def _cue_body(facts: LessonFacts) -> Iterator[Found]:
    # Novices did better with a wording about the body in one trial, so for them nothing is said.
    if facts.level == "new":
        return
    for field, cue in _cues(facts):
        if key := look.body_part(cue):
            message = f'"{cue}" speaks of the body; a wording about an effect could stand beside it'
            yield field, message, look.OFFERS[key]


def _promise(facts: LessonFacts) -> Iterator[Found]:
    for field, text in _texts(facts):
        if words := look.promise_in(text):
            yield field, f'"{words}" promises more than a lesson can keep; say what to do', ""


def _health(facts: LessonFacts) -> Iterator[Found]:
    for field, text in _texts(facts):
        if words := look.health_in(text):
            message = (
                f'"{words}" sounds medical; write what to leave out under student > avoid, '
                "and leave the rest to a clinician"
            )
            yield field, message, ""


def _frame_verb(facts: LessonFacts) -> Iterator[Found]:
    if facts.language.startswith("en"):
        for field, text in facts.frame_sentences:
            if text.strip() and not look.has_verb(text):
                yield field, f'"{text}" has no verb; say what happens or what to do', ""


def _frame_marks(facts: LessonFacts) -> Iterator[Found]:
    for field, count in facts.marks_on_frames:
        if count > MOST_MARKS:
            yield field, f"{count} marks on one frame; {MOST_MARKS} can be taken in", ""


def _if_then(facts: LessonFacts) -> Iterator[Found]:
    if facts.drills and not facts.if_then:
        message = "no if-then line: when and where does practice begin?"
        yield "plan.if_then", message, "If it is the first day of practice, then I go after work"


def _barrier(facts: LessonFacts) -> Iterator[Found]:
    if facts.drills and not facts.barriers:
        message = "no line for what may come between: rain, a full range, a tired day"
        yield "plan.if_then", message, "If the range is full, then I do the first drill at home"


def _self_check(facts: LessonFacts) -> Iterator[Found]:
    for place, drill in enumerate(facts.drills):
        if not drill.self_check.strip():
            message = f'"{drill.name}" does not say how the student sees that it worked'
            yield f"drills.{place}.self_check", message, ""


def _against_avoid(facts: LessonFacts) -> Iterator[Found]:
    avoided = {tag: f"the student avoids {tag}" for tag in facts.avoid}
    if facts.level == "new":
        avoided.setdefault("beginner", "the student is new to the game")
    if facts.age_band in CHILDREN:
        avoided.setdefault("junior", "the student is a child")
    for place, drill in enumerate(facts.drills):
        against = [tag for tag in drill.avoid_if if tag in avoided]
        if against:
            why = "; ".join(f"{avoided[tag]} ({AVOID.get(tag, tag)})" for tag in against)
            message = f'"{drill.name}" is not for this student: {why}; choose another'
            yield f"drills.{place}", message, ""


def _unknown_avoid(facts: LessonFacts) -> Iterator[Found]:
    for place, tag in enumerate(facts.avoid):
        if tag not in AVOID:
            near = nearest(tag, AVOID)
            hint = f'did you mean "{near}"?' if near else f"known are {', '.join(AVOID)}"
            yield f"student.avoid.{place}", f'no drill is marked with "{tag}"; {hint}', near or ""


def _contradict(facts: LessonFacts) -> Iterator[Found]:
    names = {drill.id: drill.name for drill in facts.drills}
    for one, other in contradicting_pairs(facts.drills):
        message = f'"{names[one]}" and "{names[other]}" pull opposite ways; keep one of them'
        yield "drills", message, ""


def _change_small(facts: LessonFacts) -> Iterator[Found]:
    for change in facts.changes_claimed:
        if abs(change.difference) <= change.plus_or_minus:
            message = (
                f"{change.measure}: a difference of {abs(change.difference):.1f} with "
                f"plus-or-minus {change.plus_or_minus:.1f} is not shown to be a change"
            )
            yield change.field, message, ""
        elif abs(change.difference) <= change.smallest:
            message = (
                f"{change.measure}: a difference of {abs(change.difference):.1f} is beyond its own "
                f"plus-or-minus {change.plus_or_minus:.1f}, but among {change.among} measures "
                "one such may be chance"
            )
            yield change.field, message, ""


def _camera(facts: LessonFacts) -> Iterator[Found]:
    for field in facts.pairs_without_camera_check:
        message = "numbers are compared, but nothing says that the camera stood the same"
        yield field, message, ""


def _few_shots(facts: LessonFacts) -> Iterator[Found]:
    if facts.shots_counted is not None and facts.shots_counted < LEAST_SHOTS:
        message = (
            f"{facts.shots_counted} shots; an average or a pattern of fewer than {LEAST_SHOTS} "
            "says little, so print the counts"
        )
        yield "seen.shots", message, ""


def _minor_picture(facts: LessonFacts) -> Iterator[Found]:
    if facts.age_band in MINORS and facts.has_pictures and not facts.photo_consent:
        message = "no consent for pictures of a minor: a drawn figure stands in for every picture"
        yield "consent.photos", message, ""


def _no_next_lesson(facts: LessonFacts) -> Iterator[Found]:
    if facts.next_lesson is None:
        yield "lesson.next_lesson", "no next lesson; the plan covers the coming week only", ""


def _far_lesson(facts: LessonFacts) -> Iterator[Found]:
    if facts.next_lesson is None or facts.lesson_date is None:
        return
    days = (facts.next_lesson - facts.lesson_date).days
    if days > FAR_LESSON_DAYS:
        message = f"{days} days until the next lesson; a short check half-way could help"
        yield "lesson.next_lesson", message, ""


def _junior_hours(facts: LessonFacts) -> Iterator[Found]:
    if facts.age_band not in MINORS or facts.age_years is None:
        return
    hours = facts.sport_hours_a_week
    if hours is not None and hours > facts.age_years:
        message = (
            f"{hours:g} hours of organised sport a week at the age of {facts.age_years:g}; "
            "talk it over with the guardian before adding practice"
        )
        yield "student.sport_hours_a_week", message, ""


def _silence_reason(facts: LessonFacts) -> Iterator[Found]:
    for place, (name, reason) in enumerate(facts.silence):
        if not reason.strip():
            yield f"silence.{place}.reason", f'"{name}" is silenced without a reason', ""


def _silence_unknown(facts: LessonFacts) -> Iterator[Found]:
    for place, (name, _) in enumerate(facts.silence):
        known = (*RULES, *NOTE_IDS)
        if name not in known:
            near = nearest(name, known)
            hint = f'; did you mean "{near}"?' if near else ""
            yield f"silence.{place}.id", f'no advice is called "{name}"{hint}', near or ""


_LOOKS: dict[str, Callable[[LessonFacts], Iterator[Found]]] = {
    "thoughts-more-than-two": _thoughts_many,
    "thoughts-no-priority": _thoughts_no_priority,
    "drills-more-than-three": _drills_many,
    "cue-too-vague": _cue_vague,
    "cue-too-long": _cue_long,
    "cue-about-the-body": _cue_body,
    "words-of-promise": _promise,
    "words-of-medicine": _health,
    "frame-without-verb": _frame_verb,
    "frame-with-many-marks": _frame_marks,
    "plan-without-if-then": _if_then,
    "plan-without-barrier": _barrier,
    "drill-without-self-check": _self_check,
    "drill-against-avoid": _against_avoid,
    "avoid-unknown": _unknown_avoid,
    "drills-contradict": _contradict,
    "change-within-its-error": _change_small,
    "camera-not-checked": _camera,
    "shots-too-few": _few_shots,
    "minor-without-picture-consent": _minor_picture,
    "next-lesson-missing": _no_next_lesson,
    "next-lesson-far": _far_lesson,
    "junior-many-hours": _junior_hours,
    "silence-without-reason": _silence_reason,
    "silence-unknown": _silence_unknown,
}
