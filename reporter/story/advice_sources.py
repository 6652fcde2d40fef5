"""The rules of the advice: why each exists, and the published source or custom it rests on."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Strength = Literal["several studies", "one study", "contested", "standard or law", "own arithmetic",
                   "common practice"]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Source:
    """Where a rule comes from, and how much it can carry."""

    reference: str
    strength: Strength


@dataclass(frozen=True, slots=True)
class Rule:
    """Why a rule exists; `source_key` is a key of `SOURCES`."""

    reason: str
    source_key: str
    kind: Literal["warning", "note"] = "warning"


SOURCES: Mapping[str, Source] = MappingProxyType(
    {
        "selic-2011": Source(
            "Selic and others 2011, BMC Family Practice 12:141: of 250 patients, those given three "
            "or four instructions recalled far less than those given one or two",
            "one study",
        ),
        "ley-1979": Source(
            "Ley 1979, and Kessels 2003, Journal of the Royal Society of Medicine 96:219: "
            "forgetting grows with amount; what comes first and is called important stays",
            "several studies",
        ),
        "henry-1999": Source(
            "Henry and others 1999, Physical Therapy 79:270: older adults did two exercises "
            "better than eight; 15 people",
            "one study",
        ),
        "raisbeck-2017": Source(
            "Raisbeck and Diekfuss 2017, Journal of Motor Learning and Development 5:148: one cue "
            "against several",
            "one study",
        ),
        "focus-contested": Source(
            "Chua and others 2021, Psychological Bulletin, doi 10.1037/bul0000335, found an "
            "advantage for effect wording; McKay and others 2024, Psychological Bulletin 150:1347, "
            "corrected for selective publication and found none; Perkins-Ceccato and others 2003, "
            "Journal of Sports Sciences 21:593: it depends on skill",
            "contested",
        ),
        "kools-2006": Source(
            "Kools and others 2006, Patient Education and Counseling 64:104, and Michas and Berry "
            "2000: pictures with words beat pictures alone",
            "several studies",
        ),
        "marks-2016": Source(
            "D'Innocenzo and others 2016, PLoS One 11:e0155442: a few cues on a model held the "
            "gaze and helped 21 novices; the number three is our choice",
            "one study",
        ),
        "if-then-2006": Source(
            "Gollwitzer and Sheeran 2006; for physical activity Belanger-Gravel and others 2013, "
            "Health Psychology Review 7:23: a small gain, .31 (.11 to .51); trials without a gain "
            "exist",
            "several studies",
        ),
        "custom": Source("Common practice of teachers, no source", "common practice"),
        "injury-custom": Source(
            "Common practice with the cautions of sports medicine; Williamson and others 2024, "
            "British Journal of Sports Medicine 58:606, for how often golfers are hurt",
            "common practice",
        ),
        "own-error": Source(
            "The uncertainty printed with the measurement, docs/measures.md", "own arithmetic"
        ),
        "few-shots": Source(
            "Half width of the mean of n shots, t times s over the root of n (any textbook): with "
            "a spread of 4 degrees, 2.9 degrees at 10 shots and 5.0 at 5",
            "own arithmetic",
        ),
        "minor-law": Source(
            "Regulation (EU) 2016/679, articles 6 and 8, on consent and children; local law wins",
            "standard or law",
        ),
        "spacing-2000": Source(
            "Shea and others 2000, Human Movement Science 19:737, and Dail and Christina 2004, "
            "Research Quarterly for Exercise and Sport 75:148: practice spread over days; the 14 "
            "days are our choice, after the follow-up advised by Selic and others 2011",
            "several studies",
        ),
        "jayanthi-2015": Source(
            "Jayanthi and others 2015, American Journal of Sports Medicine 43:794: more weekly "
            "hours of organised sport than years of age went with overuse injury, odds 2.07",
            "one study",
        ),
    }
)
"""Every source a rule may name; strengths are explained in docs/advice.md."""

RULES: Mapping[str, Rule] = MappingProxyType(
    {
        "thoughts-more-than-two": Rule(
            "Of three or more instructions most people forget some, and not the least important.",
            "selic-2011",
        ),
        "thoughts-no-priority": Rule(
            "What is said first and called important is remembered best.", "ley-1979"
        ),
        "drills-more-than-three": Rule(
            "A short programme is done more often and better than a long one.", "henry-1999"
        ),
        "cue-too-vague": Rule(
            "A thought that names a thing and an action can be done.", "ley-1979"
        ),
        "cue-too-long": Rule(
            "A swing takes a second or two; a long sentence does not fit into it.", "raisbeck-2017"
        ),
        "cue-about-the-body": Rule(
            "Some players act better on an effect than on a part of the body; whether that holds "
            "in general is contested, so this is an offer and no more.",
            "focus-contested",
            "note",
        ),
        "words-of-promise": Rule(
            "No lesson can promise a result, and a broken promise costs trust.", "custom"
        ),
        "words-of-medicine": Rule(
            "A golf lesson neither diagnoses nor treats; health data need special care.",
            "minor-law",
        ),
        "frame-without-verb": Rule(
            "A picture teaches more with a sentence that says what happens.", "kools-2006", "note"
        ),
        "frame-with-many-marks": Rule("A few marks hold the eye; many scatter it.", "marks-2016"),
        "plan-without-if-then": Rule(
            "A plan that names the moment is carried out somewhat more often.", "if-then-2006"
        ),
        "plan-without-barrier": Rule(
            "A plan that foresees what may come between survives it more often.",
            "if-then-2006",
            "note",
        ),
        "drill-without-self-check": Rule(
            "Alone on the range the student needs to see whether it worked.", "custom"
        ),
        "drill-against-avoid": Rule(
            "A drill must not load what hurts, nor ask what the place or the player cannot give.",
            "injury-custom",
        ),
        "avoid-unknown": Rule("A word no drill is marked with protects from nothing.", "custom"),
        "drills-contradict": Rule(
            "Two drills that push the same thing opposite ways undo each other.", "custom"
        ),
        "change-within-its-error": Rule(
            "A difference smaller than its plus-or-minus, or the largest of many, may be none.",
            "own-error",
        ),
        "camera-not-checked": Rule(
            "A camera that moved changes angles as much as a lesson does.", "own-error"
        ),
        "shots-too-few": Rule("The average of a few shots is known only roughly.", "few-shots"),
        "minor-without-picture-consent": Rule(
            "Pictures of minors need consent, and of the young the guardian's.",
            "minor-law",
            "note",
        ),
        "next-lesson-missing": Rule(
            "A date agreed on gives practice an end to work toward.", "custom", "note"
        ),
        "next-lesson-far": Rule(
            "What was changed fades or drifts when nobody looks at it for weeks.",
            "spacing-2000",
            "note",
        ),
        "junior-many-hours": Rule(
            "More weekly hours of organised sport than years of age went with more overuse injury.",
            "jayanthi-2015",
        ),
        "silence-without-reason": Rule("The next coach should see why.", "custom"),
        "silence-unknown": Rule("A misspelt id silences nothing.", "custom"),
    }
)
"""Every rule by id, in the order in which advice is given."""
