"""What planning needs to know of a drill, wherever the drill comes from."""

from typing import Protocol


class Tries(Protocol):
    """So many sets of so many tries."""

    @property
    def sets(self) -> int:
        """Sets of the whole dose."""

    @property
    def of(self) -> int:
        """Tries of one set."""


class Dose(Protocol):
    """What planning needs of a drill."""

    @property
    def id(self) -> str:
        """By which the plan names it."""

    @property
    def name(self) -> str:
        """For the notes."""

    @property
    def minutes(self) -> int:
        """How long the whole dose takes [min]."""

    @property
    def balls(self) -> bool:
        """Whether balls are hit."""

    @property
    def tally(self) -> Tries:
        """Sets and tries of the whole dose."""

    @property
    def equipment(self) -> tuple[str, ...]:
        """What to bring."""
