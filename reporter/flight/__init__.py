"""Ball flight: from a delivered club to a landing, and back from a flight to the delivery.

Hand in a `Delivery` or a `Launch` (`explain_delivery` and `explain_launch` fly it with bands,
`strike` and `fly` without) or a `SeenFlight` (`explain` works back to face and path).  Azimuths
and side distances are positive to the right of the target for both hands; every value carries
its unit in its name; every `Band` is 95 %.  Nothing here knows a lesson, a page or a file.
"""

from __future__ import annotations

from reporter.flight.air import Air, Wind
from reporter.flight.ball import Ball
from reporter.flight.clubs import club_named
from reporter.flight.explain import explain, explain_delivery
from reporter.flight.explanation import ExplainedFlight, Explanation
from reporter.flight.hold import Hold
from reporter.flight.impact import Delivery, Launch, strike
from reporter.flight.impossible import ImpossibleDelivery
from reporter.flight.launched import explain_launch
from reporter.flight.observation import SeenFlight, WantedFlight
from reporter.flight.trajectory import Flight, fly
from reporter.flight.uncertainty import Band

__all__ = [
    "Air",
    "Ball",
    "Band",
    "Delivery",
    "ExplainedFlight",
    "Explanation",
    "Flight",
    "Hold",
    "ImpossibleDelivery",
    "Launch",
    "SeenFlight",
    "WantedFlight",
    "Wind",
    "club_named",
    "explain",
    "explain_delivery",
    "explain_launch",
    "fly",
    "strike",
]
