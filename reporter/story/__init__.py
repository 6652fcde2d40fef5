"""What the handout says: lesson, measures and flight become sheets of finished words and numbers.

What may be relied on afterwards: every number is rounded and carries its plus-or-minus, every
flight says that it was computed, and nothing is claimed that its error does not bear.
"""

from reporter.story.plan import plan_report
from reporter.story.report import Report

__all__ = ["Report", "plan_report"]
