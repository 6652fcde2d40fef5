"""A worker that misbehaves where a lesson folder says so, and else builds."""

import os
import signal
import time
from pathlib import Path

from reporter.batch.work import Order, Outcome, build_order, told
from tests.batch.lessons import MARK


def build_with_faults(order: Order) -> Outcome:
    """Hang, die or ask for too much memory if the lesson folder holds a mark."""
    mark = Path(order.lesson_file).with_name(MARK)
    kind = mark.read_text(encoding="utf-8") if mark.exists() else ""
    if kind == "hangs":
        time.sleep(3_600)
    if kind == "killed":
        os.kill(os.getpid(), signal.SIGKILL)
    if kind == "too much memory":
        try:
            held = [bytearray(2**26) for _ in range(1_000)]
        except MemoryError as error:
            code, reasons = told(error)
            return Outcome(order.name, "failed", code, reasons)
        raise AssertionError(len(held))
    return build_order(order)
