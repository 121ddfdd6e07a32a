"""Processes that write to a log, for the tests: killed at random moments, or many at once.

They are forked from this one, which has loaded everything already, so that hundreds of them take seconds.

    python tests/stability/writers.py kill PLACE COUNT    COUNT writers, one after another, each killed at its work
    python tests/stability/writers.py many PLACE COUNT EACH    COUNT writers at once, EACH readings by each
    python tests/stability/writers.py one PLACE START    a writer that says the number of each reading once it is saved
"""

from __future__ import annotations

import json
import os
import random
import select
import shutil
import signal
import sys
import time
from itertools import islice, product
from typing import TYPE_CHECKING

from kit.errors import StoreError
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.stability.study import Study

DAY = "2026-01-12"


def cells(study: Study) -> Iterator[tuple[str, str, str, str]]:
    """Every place in which a number belongs, batch by batch."""
    plan = study.plan
    keys = [one.key for one in plan.attributes if one.kind == "number"]
    conditions = [one.key for one in plan.conditions]
    return product(study.batches, conditions, [one.label for one in plan.time_points], keys)


def write_on(place: str, start: int, count: int | None, said: int) -> None:
    """Record from the place number ``start`` on; each reading's number goes to ``said`` once it is saved."""
    with StabilityLog.open(place, wait=60) as log:
        for cell in islice(cells(log.study(1)), start, None if count is None else start + count):
            row = log.record(1, *cell, "5", DAY)
            os.write(said, f"{row.id}\n".encode())


def forked(place: str, start: int, count: int | None) -> tuple[int, int]:
    """A writer of its own: its process number, and where it says what it has saved."""
    heard, said = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(heard)
        try:
            write_on(place, start, count, said)
        except BaseException as error:
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
            os._exit(1)
        os._exit(0)
    os.close(said)
    return child, heard


def all_of(heard: int) -> list[int]:
    """The whole lines that a writer said before it ended."""
    with os.fdopen(heard) as lines:
        return [int(line) for line in lines if line.endswith("\n")]


def numbers_in(log: StabilityLog) -> set[int]:
    """The number of every reading."""
    with log._backend.reading() as connection:
        return set(connection.exec_driver_sql("SELECT id FROM observations").scalars())


def numbers_in_a_copy(place: str, said: set[int]) -> set[int]:
    """The same of what ``cp`` makes of the one file; a copy that is told to be torn may lack some."""
    copy = shutil.copy(place, f"{place}.copy")
    try:
        torn = any(finding.severity == "stop" for finding in verify(copy).findings)
    except StoreError:
        torn = True
    if torn:
        return said
    with StabilityLog.open(copy) as log:
        return numbers_in(log)


def kill(place: str, count: int) -> dict[str, object]:
    """Kill writers at random moments; what each said must be in the log each time, which opens and is sound."""
    chance = random.Random(count)
    said: set[int] = set()
    lost: set[int] = set()
    there: set[int] = set()
    findings, unsaid = [], 0
    for number in range(1, count + 1):
        start = len(there)
        child, heard = forked(place, start, None)
        if number % 5:  # one in five is killed at any moment, perhaps while opening the log; the others at work
            select.select([heard], [], [], 10)
        time.sleep(chance.uniform(0, 0.03))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        new = all_of(heard)
        said.update(new)
        is_copied = "://" not in place and number % 4 == 0  # a copy is looked through whole: the longest part of it all
        if is_copied and not said <= (copied := numbers_in_a_copy(place, said)):
            lost |= said - copied
        with StabilityLog.open(place) as log:
            there = numbers_in(log)
            if number % 20 == 0:
                findings += [finding.sentence for finding in log.verify().findings]
        lost |= said - there
        unsaid += len(there) - start - len(new)
    return {"said": len(said), "lost": sorted(lost), "findings": findings, "unsaid": unsaid}


def many(place: str, count: int, each: int) -> dict[str, object]:
    """Let writers record at once, each its own part of the study."""
    start = time.monotonic()
    at_work = [forked(place, number * each, each) for number in range(count)]
    said = [one for _, heard in at_work for one in all_of(heard)]
    codes = [os.waitpid(child, 0)[1] for child, _ in at_work]
    return {"said": said, "codes": codes, "seconds": time.monotonic() - start}


if __name__ == "__main__":
    what, where, *numbers = sys.argv[1:]
    if what == "one":
        write_on(where, int(numbers[0]), None, 1)
    else:
        first, second = (*map(int, numbers), 0)[:2]
        print(json.dumps(kill(where, first) if what == "kill" else many(where, first, second)))
