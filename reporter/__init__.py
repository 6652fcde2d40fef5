"""Turns a golf lesson, written down in YAML with a few video frames, into a printed handout.

The public names; they are imported only when asked for, so that the command line answers at once.
"""

from typing import Any

__version__ = "0.1.0"
__all__ = ["InputRefusedError", "ReporterError", "build_handout", "load_session"]


def __getattr__(name: str) -> Any:  # noqa: ANN401 - module attributes have no common type
    """Import a public name on first use."""
    if name == "build_handout":
        from reporter.handout.build import build_handout

        return build_handout
    if name == "load_session":
        from reporter.session.load import load_session

        return load_session
    if name in ("InputRefusedError", "ReporterError"):
        from reporter import errors

        return getattr(errors, name)
    message = f"module 'reporter' has no attribute {name!r}"
    raise AttributeError(message)
