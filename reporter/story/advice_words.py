"""What the advice looks for in English wording: vague, promising, medical or body-part words.

Plain lists and patterns, so that a coach can see why a word was found. They know nothing of
meaning; every finding is advice, never a refusal, and the wording stays the coach's.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType

MOST_CUE_WORDS = 8

_WORD = re.compile(r"[a-z]+(?:['’-][a-z]+)*|\d+")


def _set(words: str) -> frozenset[str]:
    """Return the words of a list written as a text."""
    return frozenset(words.split())


_DETERMINERS = _set(
    """the a an your my his her their our its this that these those each every no one of for"""
)
"""After one of these a word such as *swing* is a thing and no action."""

_WEAK_STARTS = _set(
    """be become try improve work focus concentrate relax stay feel trust think commit believe
    remember just better more less good great nice proper solid strong easy easier smooth smoother
    smoothly slow slower soft softer free loose simple steady positive nothing enjoy perform play
    do go have get let make"""
)
"""First words after which only a thing to act on makes a cue clear."""

_VAGUE = _set(
    """better best consistent consistently consistency smooth smoother smoothly connected relax
    relaxed harder hard properly correctly correct naturally natural loose commit committed
    confident confidence improve focus focused concentrate rhythm tempo balance balanced timing
    flow flowing nicely nice good well right athletic solid quality more power powerful speed
    strong stronger free freely technique mechanics posture just easier easy"""
)

_THINGS = _set(
    """apron arc backdrop bag bar ball balls basket beat belt bench board box branch branches buckle
    bucket bullseye bunker butt button buttons cap chair circle clock club clubface clubhead coin
    collar cone corner count crown cover cup dimple dimples divot dot dots door doorway edge face
    fairway fence flag flagpole flagstick fringe gate gap glove grass green grip ground handle hat
    head headcover hedge hole horizon hosel inside ladder laces leaf ledge lid line lip logo mark
    marker markers mat mirror moon net outside path peg picture pin pine plane plate pocket pockets
    pole post posts putt putter rail ridge ring roof rope rough sand scuff shaft shelf shirt shoe
    shoes shoelace shoelaces sky sleeve slope sole spot sticker stick sticks stone string sweet
    table target tee tees toe top towel track trail tray tree trees triangle tunnel turf umbrella
    wall watch water wedge window wind zip"""
)

_BODY = MappingProxyType(
    {
        "hip": "hips", "hips": "hips", "pelvis": "hips", "waist": "hips", "bottom": "hips",
        "shoulder": "shoulders", "shoulders": "shoulders",
        "elbow": "elbow", "elbows": "elbow", "armpit": "elbow",
        "wrist": "wrists", "wrists": "wrists", "forearm": "wrists", "forearms": "wrists",
        "hand": "wrists", "hands": "wrists", "palm": "wrists", "palms": "wrists",
        "thumb": "wrists", "thumbs": "wrists", "finger": "wrists", "fingers": "wrists",
        "arm": "arms", "arms": "arms",
        "knee": "legs", "knees": "legs", "leg": "legs", "legs": "legs", "thigh": "legs",
        "thighs": "legs", "calf": "legs", "glute": "legs", "glutes": "legs",
        "foot": "feet", "feet": "feet", "ankle": "feet", "ankles": "feet",
        "chest": "chest", "torso": "chest", "trunk": "chest", "body": "chest", "core": "chest",
        "rib": "chest", "ribs": "chest", "sternum": "chest", "stomach": "chest",
        "spine": "spine", "chin": "head", "eyes": "head", "neck": "head", "muscle": "legs",
        "muscles": "legs",
    }
)  # fmt: skip
_BODY_PHRASES: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"\b(?:your|my) head\b|(?<!club )\bhead (?:still|steady|down(?! the))\b"), "head"),
    (re.compile(r"\b(?:left|right|lead|trail) side\b"), "chest"),
    (re.compile(r"\b(?:your|my|lower|upper) back\b"), "spine"),
    (re.compile(r"\b(?:your|my) (?:heels?|toes?)\b|\blift\w* the (?:\w+ )?heel\b"), "feet"),
)
_NOT_BODY = re.compile(
    r"\b(?:a|one|two|half a) hands?\b|\bhand'?s[- ](?:length|width)\b|\bshoulder of the\b"
    r"|\bclub'?s? (?:head|neck|toe|heel)\b|\bfoot of the\b|\barm'?s[- ]length\b"
    r"|\bchest of\b|\bhand over\b"
)

OFFERS: Mapping[str, str] = MappingProxyType(
    {
        "hips": "Show the buckle to the target",
        "shoulders": "Point the grip's end at the line",
        "elbow": "Keep a headcover under the trail sleeve",
        "wrists": "Send the handle past the pocket",
        "arms": "Draw a wide circle with the club head",
        "legs": "Press the trail pocket toward the wall",
        "feet": "Push the ground away from the target",
        "chest": "Turn the shirt logo to the target",
        "spine": "Tilt the shirt buttons behind the ball",
        "head": "Watch the ball's back until it goes",
    }
)
"""A wording about an effect, offered beside a wording about the body; the coach's stays."""

_PROMISES = re.compile(
    r"\bguarant\w+|\bcur(?:e|es|ed|ing)\b|\bfor good\b|\bfor ?ever\b|\bsecrets?\b|\bmirac\w+"
    r"|\bmagic\w*|\bperfect\w*|\binstant\w*|\bnever (?:again|hook|slice|miss|shank|top)\b"
    r"|\bnever \w+ (?:\w+ )?again\b|\b(?:will|you'll) (?:never|always)\b|\bfoolproof\b"
    r"|\balways (?:hit|fly|flies|go|goes|be|land|find|straight)\b|\b100 ?(?:%|per ?cent)"
    r"|\b(?:add|adds|gain|gains|gives?)\b[^.]*\b(?:metres?|meters?|yards?|strokes?|shots)\b"
    r"|\bin (?:one|two|three|\d+) (?:days?|weeks?|lessons?)\b|\bonce and for all\b"
    r"|\bfix(?:es|ed)? (?:your|the|my) (?:slice|hook|swing|game|putting)\b"
)
_HEALTH = re.compile(
    r"\bpain\w*|\binjur\w+|\bheal(?:s|ed|ing)?\b|\bsciatic\w*|\btend(?:in|on)\w*|\barthr\w+"
    r"|\bherni\w+|\bdiagnos\w+|\btherap\w+|\brehab\w*|\binflam\w+|\bsprain\w*|\bsurgery\b"
    r"|\bphysio\w*|\bmedical\w*|\bsymptom\w*|\bslipped disc\b|\bbad (?:back|knee|hip|shoulder)\b"
    r"|\b\w+itis\b|\btreat(?:s|ed|ing|ment)?\b.*\b(?:back|knee|hip|wrist|elbow|shoulder)\b"
    r"|\bconcussion\b|\bdisease\b|\bdisorder\b|\bmedicat\w+"
)

_VERBS = _set(
    """add aim allow approach arrive back be begin bend bounce break bring brush build call carry
    catch change chase check chip choose clear climb clip close cock come compress count cover
    cross curve cut delay dip do drag draw drift drive drop ease end extend face fall feed feel fly
    find finish fire fit flare flatten flex flip float follow gain get give glide go grip grow hang
    have hinge hit hold increase keep kick land lag lay lead lean leave let lie lift line load
    look lose lower make mark match meet miss move narrow need open pass pause pick pin pitch place
    play point pop pose press print pull push put raise reach read reduce release remain repeat
    rest return reverse ride rise roll rotate run say score see send set settle shake shallow shift
    shorten show shut sink sit slide slice slip slow smash spin splash split spread square squeeze
    stack stand start stay steepen step stop straighten stretch strike sway sweep swing swivel take
    tap tee think throw tilt tip touch trace track travel trust try tuck turn twist unwind use
    walk want watch widen work wrap"""
)
_VERB_FORMS = _set(
    """am is are was were been has had does did can could will would should must may might went gone
    came brought kept held hung led left lost made met put ran rose said saw seen sent set shook
    shown sat slid spun split spread stood stuck struck swept swung took taken threw thrown trod
    told began begun bent bound broke broken built caught chose chosen cut drew drawn drove driven
    fell fallen felt fed flew flown found gave given got grew grown hit laid lain lay leant leaned
    shut dropped"""
)


def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a text in small letters."""
    return tuple(_WORD.findall(text.casefold()))


def too_long(cue: str) -> int:
    """Return the number of words of a cue that is too long to keep in mind, else 0."""
    count = len(words_of(cue))
    return count if count > MOST_CUE_WORDS else 0


def is_vague(cue: str) -> bool:
    """Return whether a cue names neither a thing to act on nor a clear action.

    A thing or a part of the body is enough. Without one, a vague word or a weak first word makes
    the cue vague; any other first word is taken for an action.
    """
    words = words_of(cue)
    if not words or any(word in _THINGS or word in _BODY for word in words):
        return not words
    return words[0] in _WEAK_STARTS or any(word in _VAGUE for word in words)


def body_part(cue: str) -> str | None:
    """Return the key of `OFFERS` for the first part of the body a cue speaks of, or None."""
    text = _NOT_BODY.sub(" ", cue.casefold())
    for pattern, key in _BODY_PHRASES:
        if pattern.search(text):
            return key
    return next((_BODY[word] for word in words_of(text) if word in _BODY), None)


def promise_in(text: str) -> str | None:
    """Return the words of a text that promise a result, or None."""
    found = _PROMISES.search(text.casefold())
    return found.group().strip() if found else None


def health_in(text: str) -> str | None:
    """Return the words of a text that belong to medicine, or None."""
    found = _HEALTH.search(text.casefold())
    return found.group().strip() if found else None


def has_verb(text: str) -> bool:
    """Return whether a sentence seems to hold a verb."""
    words = words_of(text)
    for before, word in zip(("", *words), words, strict=False):
        if word in _VERB_FORMS or (before not in _DETERMINERS and _base(word) in _VERBS):
            return True
    return False


def _base(word: str) -> str:
    """Return the plain form of a verb, as far as endings tell; the word itself otherwise."""
    if word in _VERBS:
        return word
    for ending, plain in (("ies", "y"), ("es", ""), ("s", ""), ("ing", ""), ("ed", ""), ("d", "")):
        if word.endswith(ending):
            stem = word[: -len(ending)] + plain
            for candidate in (stem, f"{stem}e", stem[:-1]):
                if candidate in _VERBS:
                    return candidate
    return word


_CHANGE = re.compile(
    r"\b(?:now|no longer|instead of|any ?more|changed|moved|gone|improved|grew|shrank|increased"
    r"|decreased|reduced|more|less|better|further|farther|closer|nearer|higher|lower|steeper"
    r"|shallower|flatter|wider|narrower|shorter|longer|bigger|smaller|earlier|later)\b"
)
_NO_CHANGE = re.compile(
    r"\b(?:no (?:\w+ )?change|not (?:\w+ ){0,2}changed?|unchanged|same|held|kept|still"
    r"|as (?:it was )?before|not shown|cannot (?:tell|show)|can show|too small|did not)\b"
)


def claims_change(text: str) -> bool:
    """Return whether a sentence calls something changed, and does not say that it stayed."""
    folded = text.casefold()
    return bool(_CHANGE.search(folded)) and not _NO_CHANGE.search(folded)
