"""How slow this machine is just now, so that a bar of milliseconds holds on a busy one and on an older one."""

from __future__ import annotations

import time

#: What the work below takes on the quiet machine on which the bars were measured. [s]
QUIET = 0.012


def _work() -> float:
    """Make, sort and look up small objects: it waits for memory as the kit does, not for arithmetic alone. [s]"""
    start = time.perf_counter()
    made = {f"name {number * 7919 % 20_011}": (number, [number]) for number in range(20_000)}
    sum(made[name][0] for name in sorted(made))
    return time.perf_counter() - start


def on_this_machine(bar: float) -> float:
    """The bar for a quiet machine, times how much longer the same plain work takes here and now. [s]"""
    return bar * max(1.0, min(_work() for _ in range(5)) / QUIET)
