"""A paper made out, with what there is to say about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from kit.errors import KitError

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Finding

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper made out: what it is, as HTML, with what there is to say about it."""

    kind: str
    html: str
    findings: tuple[Finding, ...] = ()

    @property
    def stops(self) -> bool:
        """Whether one of its findings says that arithmetic or a law is broken."""
        return any(finding.severity == "stop" for finding in self.findings)


def attempt(work: Callable[[], Value], otherwise: Value) -> tuple[Value, str]:
    """What the work gives, or what stands for it and the sentence that says why it does not work."""
    try:
        return work(), ""
    except KitError as error:
        return otherwise, str(error)
