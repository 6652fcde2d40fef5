"""What is said in which language, and that one reader's language never leaks into another's."""

import gettext

import pytest

from reporter.speech import language, say, say_as, say_count, speaking, speaking_by


class Loud(gettext.NullTranslations):
    """A catalogue whose answers cannot be taken for English."""

    def gettext(self, message):
        return message.upper().replace("{NAME}", "{name}")

    def ngettext(self, msgid1, msgid2, n):
        return "EIN" if n == 1 else "{number} MANY"

    def pgettext(self, context, message):
        return f"{context}/{message}"


def test_english_is_what_stands_in_the_code():
    assert language() == "en"
    assert say("Start {name}", name="left") == "Start left"
    assert say("50 % {of}") == "50 % {of}", "without values nothing is filled"
    assert say_count("{number} ball", "{number} balls", 1) == "1 ball"
    assert say_count("{number} ball", "{number} balls", 3) == "3 balls"
    assert say_as("club", "iron") == "iron"


def test_a_catalogue_speaks_inside_its_block_only():
    with speaking_by("qq", Loud()):
        assert language() == "qq"
        assert say("Hello {name}", name="you") == "HELLO you"
        assert say_count("one", "many", 3) == "3 MANY"
        assert say_as("club", "iron") == "club/iron"
        with speaking("en"):
            assert say("Hello") == "Hello"
        assert say("Hello") == "HELLO"
    assert say("Hello") == "Hello"


def test_the_language_returns_after_a_fault():
    with pytest.raises(ZeroDivisionError), speaking_by("qq", Loud()):
        raise ZeroDivisionError
    assert language() == "en"


def test_a_language_without_catalogue_is_refused():
    with pytest.raises(KeyError), speaking("zz"):
        raise AssertionError
