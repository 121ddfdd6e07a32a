"""The files of a log looked through: photos missing, changed or left over, and saves that were broken off."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.stability.photo_files import leftovers, place_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from kit.stability.photo_files import Photo

_HARMLESS = "It does no harm; look at it, and delete it if you do not know it."


def wrong_photos(photos: Sequence[Photo], folder: Path | None) -> Iterator[Finding]:
    """Photos of the log that are not in their place as they were attached, and files in the folder that are none."""
    if folder is None:
        if photos:
            words = f"The log has photos ({len(photos)}), and their folder was not named. Name it with photos='...'."
            yield Finding("caution", words, Place(field="photos"))
        return
    known = set()
    for photo in photos:
        place = place_of(folder, photo.sha256, photo.media_type)
        problem = None if place in known else _problem(place, photo)
        known.add(place)
        if problem:
            words = f"Photo {photo.id} of reading {photo.observation_id}, {photo.file_name}, {problem}"
            yield Finding("stop", f"{words} Put it back from your latest copy, as {place.name}.", Place(field="photos"))
    if folder.is_dir():
        for file in leftovers(folder):
            words = f"{file.name} in the folder of the photos is no photo of a log: a save may have been broken off."
            yield Finding("note", f"{words} {_HARMLESS}", Place(field="photos"))
        for file in sorted(set(folder.glob("??/*")) - known - set(leftovers(folder))):
            words = f"{file.name} in the folder of the photos belongs to no reading: its save may have been broken off."
            yield Finding("note", f"{words} {_HARMLESS}", Place(field="photos"))


def _problem(place: Path, photo: Photo) -> str | None:
    try:
        with place.open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        return f"cannot be read ({error.strerror})."
    if found != photo.sha256 or place.stat().st_size != photo.bytes:
        return "is not as it was attached: its content has changed."
    return None


def stray_files(path: Path | None) -> Iterator[Finding]:
    """What a log that was being made or copied when the power went may have left beside its file."""
    if path is not None:
        for file in sorted(path.parent.glob(f".{path.name}.*.new")):
            words = f"{file.name} is the trace of a log that was being made or copied when it was broken off."
            yield Finding("note", f"{words} {_HARMLESS}", Place(field="log"))
