"""What the commands that read a stability log share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse

    from kit.papers.paper import StudyRecord
    from kit.stability.log.store import StabilityLog
    from kit.stability.study import Study


def add_log(parser: argparse.ArgumentParser) -> None:
    """The log, and which of its studies."""
    parser.add_argument("log", metavar="LOG", help="the log: a file, or postgresql://user@host/database")
    parser.add_argument("--study", type=int, metavar="N", help="the study's number (needed where there are several)")


def looked_for(place: str) -> str:
    """The place of a log that is there; unlike the panel, a command never makes a new one."""
    from kit.errors import StoreError

    if "://" not in place and not Path(place).is_file():
        msg = f"There is no stability log {place}. Name the file that the panel wrote, often stability_log.db."
        raise StoreError(msg)
    return place


def file_of(place: str) -> Path:
    """The file of a log; one on a server has none."""
    from kit.errors import StoreError

    if "://" in place:
        msg = "A shared log lies on a server: its own backup is the server's (pg_dump), made by whoever looks after it."
        raise StoreError(msg)
    return Path(looked_for(place)).absolute()


def opened(place: str) -> StabilityLog:
    """The log at a place."""
    from kit.stability.log.store import StabilityLog

    return StabilityLog.open(looked_for(place))


def study_in(log: StabilityLog, number: int | None) -> Study:
    """The study of that number, or the only one there is."""
    from kit.errors import UnknownNameError

    if number is not None:
        return log.study(number)
    studies = log.studies()
    if len(studies) == 1:
        return studies[0]
    known = "; ".join(f"{study.id}: {study.title}" for study in studies) or "none yet"
    msg = f"Say which study with --study and its number. The log holds {known}."
    raise UnknownNameError(msg)


def record_of(given: argparse.Namespace) -> StudyRecord:
    """The study that was named with what was read, as its papers are written."""
    from kit.papers.paper import StudyRecord

    log = opened(given.log)
    study = study_in(log, given.study)
    return StudyRecord(study, tuple(log.observations(study.id)), log.anchor, tuple(log.unsound()))
