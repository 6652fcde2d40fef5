"""Reading ease against worked examples, and what it refuses."""

import pytest

from reporter.story.reading_ease import (
    ReadingEaseError,
    amstad_score,
    flesch_score,
    reading_ease,
    syllables_of,
    syllables_of_german,
    syllables_of_spanish,
    szigriszt_score,
)

# Worked examples of the encyclopedia article "Flesch-Kincaid readability tests": sentence, words,
# syllables and the score printed there; from memory.
PUBLISHED = (
    ("The cat sat on the mat.", 6, 6, 116.0),
    (
        "This sentence, taken as a reading passage unto itself, is being used to prove a point.",
        16,
        23,
        69.0,
    ),
    (
        "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.",
        13,
        24,
        37.5,
    ),
)


@pytest.mark.parametrize(("sentence", "words", "syllables", "score"), PUBLISHED)
def test_formula_against_worked_examples(
    sentence: str, words: int, syllables: int, score: float
) -> None:
    assert flesch_score(words, 1, syllables) == pytest.approx(score, abs=0.5)
    counted = sum(syllables_of(word.strip(".,")) for word in sentence.split())
    assert counted == syllables


def test_a_text_of_the_three_examples() -> None:
    # 35 words, 3 sentences, 53 syllables by the counts above; worked by hand:
    # 206.835 - 1.015 * 11.6667 - 84.6 * 1.51429 = 206.835 - 11.842 - 128.109 = 66.88.
    text = " ".join(example[0] for example in PUBLISHED)
    assert reading_ease(text, "en") == pytest.approx(66.88, abs=0.01)
    assert reading_ease(text, "en-GB") == reading_ease(text, "EN")


# Syllables as ordinary dictionaries divide the words.
@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("ball", 1), ("before", 2), ("towel", 2), ("handle", 2), ("table", 2), ("hole", 1),
        ("straight", 1), ("fairway", 2), ("target", 2), ("direction", 3), ("practice", 2),
        ("practised", 2), ("landed", 2), ("turned", 1), ("pushes", 2), ("times", 1),
        ("people", 2), ("area", 3), ("video", 3), ("measurement", 3), ("position", 3),
        ("uncertainty", 4), ("degrees", 2), ("club", 1), ("headcover", 3), ("7", 1), ("idea", 3),
        ("being", 2), ("forces", 2),
    ],
)  # fmt: skip
def test_syllables(word: str, count: int) -> None:
    assert syllables_of(word) == count


def test_numbers_and_abbreviated_decimals_do_not_end_a_sentence() -> None:
    words = "The gate is 2.5 m away and the ball goes through it most of the time "
    text = f"{words}today. {words}too!"
    longer = reading_ease(text, "en")
    assert longer == pytest.approx(reading_ease(text.replace("2.5", "25"), "en"), abs=8.0)
    assert longer > reading_ease(text.replace("today. The", "today the"), "en")


def test_short_plain_sentences_read_easier_than_long_ones() -> None:
    plain = "Hit the ball. Look at the mark. Step back. Do it again. " * 4
    grave = (
        "Notwithstanding considerable experimental uncertainty, the investigators recommend "
        "individualised instruction, incorporating comprehensive biomechanical evaluation "
        "alongside longitudinal observation, documentation, interpretation, communication, "
        "adaptation, verification, reconsideration and collaboration between participating "
        "professional organisations throughout the country."
    )
    assert reading_ease(plain, "en") > 90
    assert reading_ease(grave, "en") < 0


@pytest.mark.parametrize("language", ["it", "fr-CA", ""])
def test_other_languages_are_refused(language: str) -> None:
    with pytest.raises(ReadingEaseError, match="en, de, es only"):
        reading_ease("word " * 50, language)


def test_short_texts_are_refused() -> None:
    with pytest.raises(ReadingEaseError, match="30 words or more; found 29"):
        reading_ease("word " * 29, "en")
    assert reading_ease("word " * 30, "en")


def test_impossible_counts_are_refused() -> None:
    with pytest.raises(ReadingEaseError, match="1 or more"):
        flesch_score(0, 1, 1)


@pytest.mark.parametrize(
    ("word", "count"),
    [  # Counted by hand as a dictionary divides them.
        ("Ball", 1), ("Übung", 2), ("Schwungbahn", 2), ("Treffmoment", 3), ("Zielscheibe", 3),
        ("zeigen", 2), ("drei", 1), ("Häuser", 2), ("See", 1), ("Ansprechposition", 6),
        ("spielen", 2), ("quer", 1), ("Handgelenk", 3), ("Neun", 1), ("zurück", 2), ("Fuß", 1),
    ],
)  # fmt: skip
def test_german_syllables(word: str, count: int) -> None:
    assert syllables_of_german(word) == count


@pytest.mark.parametrize(
    ("word", "count"),
    [  # Diphthong and hiatus as the Ortografía of the Real Academia Española (2010) has them.
        ("bola", 2), ("trayectoria", 4), ("cara", 2), ("aéreo", 4), ("día", 2), ("ciudad", 2),
        ("queso", 2), ("guía", 2), ("pingüino", 3), ("ley", 1), ("cuidado", 3), ("objetivo", 4),
        ("izquierda", 3), ("derecha", 3), ("toalla", 3), ("muy", 1), ("reír", 2), ("y", 1),
    ],
)  # fmt: skip
def test_spanish_syllables(word: str, count: int) -> None:
    assert syllables_of_spanish(word) == count


def test_the_formulas_for_german_and_spanish_are_the_published_ones() -> None:
    # 100 words, 10 sentences, 150 syllables, worked out by hand from the published formulas.
    assert amstad_score(100, 10, 150) == pytest.approx(180 - 10 - 58.5 * 1.5)
    assert szigriszt_score(100, 10, 150) == pytest.approx(206.835 - 62.3 * 1.5 - 10)
    assert reading_ease("Der Ball rollt. " * 10, "de-CH") == pytest.approx(180 - 3 - 58.5)
    assert reading_ease("La bola rueda. " * 10, "es") == pytest.approx(206.835 - 3 - 62.3 * 5 / 3)
