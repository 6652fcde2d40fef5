"""Where the demo lesson lies that is timed."""

from pathlib import Path

DEMO = Path(__file__).parents[2] / "demo_session" / "session.yaml"
