"""Read a record of tables into a Formula, collecting every fault instead of stopping at the first."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from typing import Any, cast

from kit.errors import EntryError, Fault, KitError
from kit.formula.files.record import RULE_OF, phases_of
from kit.formula.model import (
    HOLDS,
    USUAL_UNCERTAINTY,
    Answer,
    Formula,
    Line,
    MeasuredDensity,
    Phase,
    PhReading,
    Rule,
    Variant,
)
from kit.formula.moved import Ratio
from kit.formula.steps import MakingStep, short_step
from kit.inputs import Choice, Several, inputs_of
from kit.library.columns import split_list
from kit.library.description import Description
from kit.library.ingredient import BASES, DENSITIES, PHASE_KINDS, Figure, Ingredient, Material, PhaseKind, Stock
from kit.library.sources import OWN
from kit.numbers import read_likely, split_text
from kit.rounding import unmistakable
from kit.units import magnitude
from kit.visible_text import brief, holds_nul

#: Where a value stands in a record: ("phase", 0, "line", 2, "amount").
Path = tuple[str | int, ...]

#: What a file says of a product, besides its formula.
DESCRIBED = tuple(one.name for one in inputs_of(Description))

_TOP_KEYS = (
    "title",
    "version",
    "changed_since_version",
    "oil_layer_moved_to",
    "other_layer_moved_to",
    *DESCRIBED,
    "written_for",
    "note",
    "change_note",
    "steps",
    "phase",
    "stock",
    "ingredient",
    "rule",
    "answer",
    "measured_ph",
    "measured_density",
    "variant",
    "earlier",
)

#: What no number in a formula's file reaches: beyond it a whole one would lose digits as a float.
MOST = 1e15
MOST_VERSIONS = 999_999

NUL = "it holds the sign NUL, which no text has; take it out"

_EARLIER_KEYS = ("version", "title", "change_note", "written_for", "lines", "phase")
#: What an earlier version names only where it was different.
_EARLIER_ABOUT = (*DESCRIBED, "note", "steps", "stock", "ingredient", "rule", "measured_ph", "measured_density")


@dataclass
class Reader:
    """Reads one record, collecting faults; ``locate`` says where a path lies in the file."""

    locate: Callable[[Path], str]
    faults: list[Fault] = field(default_factory=list)
    #: Whether a text may be a number, as in a workbook whose cells were formatted as text.
    reads_texts: bool = False

    def fault(self, path: Path, problem: str) -> None:
        """Note one thing wrong at one place."""
        self.faults.append(Fault(self.locate(path), problem))

    def formula(self, record: Mapping[str, Any]) -> Formula:
        """The formula of a record; worth using only while there are no faults."""
        self.known(record, (), _TOP_KEYS)
        ratio = self.ratio(record)
        changed = "changed_since_version" in record
        current = Formula(
            title=self.text(record, (), "title", "Untitled"),
            phases=tuple(self.phase(item, ("phase", n)) for n, item in self.tables(record, (), "phase")),
            ratio=ratio,
            version=self.version(record, (), "changed_since_version" if changed else "version"),
            changed=changed or ratio is not None,
            description=self.description(record, (), Description()),
            written_for=self.mass(record, (), "written_for"),
            materials=self.materials(record, ()),
            rules=self.rules(record, ()),
            answers=self.answers(record),
            measured_ph=self.measured_ph(record, ()),
            densities=self.densities(record, ()),
            steps=self.steps(record, ()),
            note=self.text(record, (), "note"),
            change_note=self.text(record, (), "change_note"),
        )
        earlier = [self.earlier(item, ("earlier", n), current) for n, item in self.tables(record, (), "earlier")]
        variants = [self.variant(item, ("variant", n), current) for n, item in self.tables(record, (), "variant")]
        family = tuple(variant for variant in variants if variant is not None)
        return Formula(**{**_fields(current), "earlier": tuple(earlier), "variants": family})

    def description(self, record: Mapping[str, Any], path: Path, before: Description) -> Description:
        """What the product is; what the record does not say is as ``before``."""
        said: dict[str, Any] = {}
        for one in inputs_of(Description):
            if one.name not in record:
                continue
            if isinstance(one.reader, Choice):
                said[one.name] = self.choice(record, path, one.name, tuple(one.reader.options), one.default)
            elif isinstance(one.reader, Several):
                words = record[one.name]
                parts = self.texts(record, path, one.name) if isinstance(words, list) else split_list(str(words))
                for word in parts:
                    if word not in one.reader.options:
                        known = ", ".join(one.reader.options)
                        self.fault((*path, one.name), f"{word!r} is not known here; known are {known}")
                said[one.name] = tuple(part for part in parts if part in one.reader.options)
            else:
                said[one.name] = self.text(record, path, one.name)
        return replace(before, **said)

    def answers(self, record: Mapping[str, Any]) -> tuple[Answer, ...]:
        """Every [[answer]] to a caution."""
        found = []
        for n, item in self.tables(record, (), "answer"):
            path: Path = ("answer", n)
            self.known(item, path, ("to", "because", "day"))
            matter, because, day = (self.text(item, path, key) for key in ("to", "because", "day"))
            found.append(self.made(Answer, {"matter": matter, "because": because, "day": day}, path))
        return tuple(cast("Answer", answer) for answer in found if answer is not None)

    def ratio(self, record: Mapping[str, Any]) -> Ratio | None:
        """Where the layers were moved to, if they were."""
        oil, other = (self.number(record, (), key) for key in ("oil_layer_moved_to", "other_layer_moved_to"))
        if oil is None:
            if other is not None:
                self.fault(("other_layer_moved_to",), "oil_layer_moved_to must stand beside it")
            return None
        return cast("Ratio | None", self.made(Ratio, {"oil": oil, "other": other}, ("oil_layer_moved_to",)))

    def materials(self, item: Mapping[str, Any], path: Path) -> tuple[Material, ...]:
        """Every [[stock]] and [[ingredient]]."""
        stocks = [self.stock(entry, (*path, "stock", n)) for n, entry in self.tables(item, path, "stock")]
        own = [self.ingredient(entry, (*path, "ingredient", n)) for n, entry in self.tables(item, path, "ingredient")]
        return tuple(found for found in (*stocks, *own) if found is not None)

    def rules(self, item: Mapping[str, Any], path: Path) -> tuple[Rule, ...]:
        """Every [[rule]]."""
        found = [self.rule(entry, (*path, "rule", n)) for n, entry in self.tables(item, path, "rule")]
        return tuple(rule for rule in found if rule is not None)

    def measured_ph(self, item: Mapping[str, Any], path: Path) -> PhReading | None:
        """A measured pH: a number alone, or a table of the number and its day."""
        said = item.get("measured_ph", {})
        here = (*path, "measured_ph")
        if isinstance(said, Mapping):
            self.known(said, here, ("value", "day"))
        entry = said if isinstance(said, Mapping) else {"value": said}
        value, day = entry.get("value"), self.text(entry, here, "day")
        if not entry:
            return None
        if value is None or not is_number(value):
            words = 'measured_ph must be a number such as 5.2, or { value = 5.2, day = "2026-05-31" }'
            self.fault(here, f"{words}; found {brief(said)}")
            return None
        return cast("PhReading | None", self.made(PhReading, {"value": float(value), "day": day}, here))

    def densities(self, item: Mapping[str, Any], path: Path) -> tuple[MeasuredDensity, ...]:
        """Every [[measured_density]]."""
        key = "measured_density"
        found = [self.density(entry, (*path, key, n)) for n, entry in self.tables(item, path, key)]
        return tuple(measured for measured in found if measured is not None)

    def density(self, item: Mapping[str, Any], path: Path) -> MeasuredDensity | None:
        """One [[measured_density]]."""
        self.known(item, path, ("layer", "density", "uncertainty", "degrees", "mix"))
        degrees, uncertainty = self.number(item, path, "degrees"), self.number(item, path, "uncertainty")
        values = {
            "layer": self.choice(item, path, "layer", PHASE_KINDS, "water"),
            "value": self.number(item, path, "density") or 0.0,
            "celsius": 20.0 if degrees is None else degrees,
            "uncertainty": USUAL_UNCERTAINTY if uncertainty is None else uncertainty,
            "mix": self.shares(item, path, "mix"),
        }
        return cast("MeasuredDensity | None", self.made(MeasuredDensity, values, path))

    def phase(self, item: Mapping[str, Any], path: Path) -> Phase:
        """One [[phase]]."""
        self.known(item, path, ("name", "layer", "colour", "line"))
        kind = cast("PhaseKind", self.choice(item, path, "layer", PHASE_KINDS, "water"))
        lines = tuple(self.line(line, (*path, "line", n)) for n, line in self.tables(item, path, "line"))
        colour = self.text(item, path, "colour")
        if colour and not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
            self.fault((*path, "colour"), f'colour must be written like "#d3a144"; found {colour!r}')
        return Phase(self.text(item, path, "name", f"Phase {int(path[-1]) + 1}"), kind, lines, colour)

    def line(self, item: Mapping[str, Any], path: Path) -> Line:
        """One [[phase.line]]; an amount that cannot be read is kept as typed, for the table to mark."""
        self.known(item, path, ("ingredient", "amount", "holds", "note", "more"))
        hold = self.choice(item, path, "holds", tuple(HOLDS), "share")
        amount = as_entry(item.get("amount", ""))
        if amount is None:
            self.fault(
                (*path, "amount"), f'amount must be text or a number, such as "3.5 %"; found {brief(item["amount"])}'
            )
        elif holds_nul(amount):
            self.fault((*path, "amount"), NUL)
            amount = ""
        words = self.text(item, path, "ingredient"), amount or "", hold, self.text(item, path, "note")
        return Line(*words, self.own_columns(item, path))  # type: ignore[arg-type]

    def own_columns(self, item: Mapping[str, Any], path: Path) -> tuple[tuple[str, str], ...]:
        """What stands in columns of the maker's own: heading → cell."""
        found = item.get("more", {})
        if not isinstance(found, Mapping) or not all(isinstance(cell, str) for cell in found.values()):
            self.fault((*path, "more"), 'more must be headings with texts: { Supplier = "ours", Function = "solvent" }')
            return ()
        return tuple((str(heading), str(cell)) for heading, cell in found.items())

    def stock(self, item: Mapping[str, Any], path: Path) -> Stock | None:
        """One [[stock]]."""
        self.known(
            item,
            path,
            (
                "name",
                "active",
                "strength",
                "basis",
                "layer",
                "contents",
                "density",
                "made_on",
                "keep_until",
                "note",
            ),
        )
        values = {
            "name": self.text(item, path, "name"),
            "contents": self.shares(item, path, "contents"),
            "active": self.text(item, path, "active"),
            "strength": self.number(item, path, "strength"),
            "basis": self.choice(item, path, "basis", BASES, "w/w"),
            "density": self.figure(item, path, "density"),
            "phase": self.choice(item, path, "layer", PHASE_KINDS, "water"),
            "made_on": self.text(item, path, "made_on"),
            "keep_until": self.text(item, path, "keep_until"),
            "note": self.text(item, path, "note"),
        }
        return cast("Stock | None", self.made(Stock, values, path))

    def ingredient(self, item: Mapping[str, Any], path: Path) -> Ingredient | None:
        """One [[ingredient]] of the maker's own."""
        self.known(item, path, ("inci", "plain_name", "roles", "layer", "charge", "density", "composition", "note"))
        values = {
            "inci": self.text(item, path, "inci"),
            "plain_name": self.text(item, path, "plain_name"),
            "roles": self.texts(item, path, "roles"),
            "phase": self.choice(item, path, "layer", PHASE_KINDS, "water"),
            "charge": self.text(item, path, "charge"),
            "density": self.figure(item, path, "density"),
            "composition": self.shares(item, path, "composition"),
            "note": self.text(item, path, "note"),
            "facts_source": OWN,
            "own": True,
        }
        return cast("Ingredient | None", self.made(Ingredient, values, path))

    def rule(self, item: Mapping[str, Any], path: Path) -> Rule | None:
        """One [[rule]]."""
        self.known(item, path, ("ingredient", "least", "most", "of", "reason"))
        values = {
            "material": self.text(item, path, "ingredient"),
            "low": self.number(item, path, "least"),
            "high": self.number(item, path, "most"),
            "of": RULE_OF[self.choice(item, path, "of", tuple(RULE_OF), "whole")],
            "reason": self.text(item, path, "reason"),
        }
        return cast("Rule | None", self.made(Rule, values, path))

    def rows(self, item: Mapping[str, Any], path: Path, current: Formula) -> tuple[Phase, ...]:
        """Lines written as rows of [phase, layer, ingredient, amount, holds, note]; the note may be left out.

        Colours are those of the current one.
        """
        rows = []
        for n, row in enumerate(self.sequence(item, path, "lines")):
            if (
                not isinstance(row, list)
                or len(row) not in (5, 6)
                or row[1] not in PHASE_KINDS
                or row[4] not in tuple(HOLDS)
            ):
                self.fault((*path, "lines"), f"row {n + 1} must be [phase, layer, ingredient, amount, holds, note]")
                continue
            cells = [as_entry(cell) if at == 3 else cell for at, cell in enumerate(row)]
            if not all(isinstance(cell, str) and not holds_nul(cell) for cell in cells):
                problem = f"row {n + 1} must hold texts in quotation marks; found {brief(row)}"
                self.fault((*path, "lines"), problem)
                continue
            rows.append([str(cell) for cell in cells])
        return phases_of(rows, current)

    def variant(self, item: Mapping[str, Any], path: Path, current: Formula) -> Variant | None:
        """One [[variant]] of the family."""
        self.known(item, path, ("name", "note", "lines", "phase"))
        tables = self.tables(item, path, "phase")
        phases = tuple(self.phase(entry, (*path, "phase", n)) for n, entry in tables)
        values = {
            "name": self.text(item, path, "name"),
            "phases": phases or self.rows(item, path, current),
            "note": self.text(item, path, "note"),
        }
        return cast("Variant | None", self.made(Variant, values, path))

    def earlier(self, item: Mapping[str, Any], path: Path, current: Formula) -> Formula:
        """One [[earlier]] version: its lines as rows or its phases; what it does not name was as it is now."""
        self.known(item, path, (*_EARLIER_KEYS, *_EARLIER_ABOUT))
        about: dict[str, Any] = {"description": self.description(item, path, current.description)}
        if "note" in item:
            about["note"] = self.text(item, path, "note")
        if "steps" in item:
            about["steps"] = self.steps(item, path)
        if "stock" in item or "ingredient" in item:
            about["materials"] = self.earlier_materials(item, path, current)
        if "rule" in item:
            about["rules"] = self.rules(item, path)
        if "measured_ph" in item:
            about["measured_ph"] = self.measured_ph(item, path)
        if "measured_density" in item:
            about["densities"] = self.densities(item, path)
        if "phase" in item:
            tables = self.tables(item, path, "phase")
            about["phases"] = tuple(self.phase(entry, (*path, "phase", n)) for n, entry in tables)
        return Formula(
            **{
                **_fields(current),
                "ratio": None,
                "changed": False,
                "title": self.text(item, path, "title", current.title),
                "version": self.version(item, path),
                "change_note": self.text(item, path, "change_note"),
                "written_for": self.mass(item, path, "written_for"),
                "phases": self.rows(item, path, current),
                **about,
            }
        )

    def earlier_materials(self, item: Mapping[str, Any], path: Path, current: Formula) -> tuple[Material, ...]:
        """The stocks and own ingredients of an earlier version; of the kind it does not name, the current ones."""
        found = self.materials(item, path)
        kinds = {"stock": Stock, "ingredient": Ingredient}
        kept = [
            each for key, kind in kinds.items() if key not in item for each in current.materials if type(each) is kind
        ]
        return tuple(sorted((*found, *kept), key=lambda each: isinstance(each, Ingredient)))

    def made(self, kind: type, values: Mapping[str, Any], path: Path) -> object | None:
        """Build a value, turning its own complaint into a fault at this place."""
        try:
            return cast("object", kind(**values))
        except KitError as error:
            self.fault(path, str(error))
            return None

    def known(self, item: Mapping[str, Any], path: Path, keys: tuple[str, ...]) -> None:
        """Fault every key that means nothing here, with the nearest that does."""
        for key in item:
            if key not in keys:
                near = get_close_matches(key, keys, 1)
                hint = f"did you mean {near[0]!r}?" if near else f"known here are {', '.join(keys)}"
                self.fault((*path, key), f"{key!r} is not known here; {hint}")

    def tables(self, item: Mapping[str, Any], path: Path, key: str) -> list[tuple[int, Mapping[str, Any]]]:
        """The tables of an array of tables, numbered."""
        found = item.get(key, [])
        if not isinstance(found, list) or not all(isinstance(entry, Mapping) for entry in found):
            self.fault((*path, key), f"{key} must be written as tables: [[{key}]]")
            return []
        return list(enumerate(found))

    def sequence(self, item: Mapping[str, Any], path: Path, key: str) -> list[Any]:
        """A list, or a fault."""
        found = item.get(key, [])
        if not isinstance(found, list):
            self.fault((*path, key), f"{key} must be a list in square brackets")
            return []
        return found

    def texts(self, item: Mapping[str, Any], path: Path, key: str) -> tuple[str, ...]:
        """A list of texts, or a fault."""
        found = self.sequence(item, path, key)
        if not all(isinstance(each, str) for each in found):
            self.fault((*path, key), f"{key} must be a list of texts in quotation marks; found {brief(found)}")
            return ()
        return tuple(found)

    def steps(self, item: Mapping[str, Any], path: Path) -> tuple[str | MakingStep, ...]:
        """Steps: each a text, or a table of what is done, its phase, temperature, caution and hand."""
        found: list[str | MakingStep] = []
        for n, each in enumerate(self.sequence(item, path, "steps")):
            here = (*path, "steps", n)
            if isinstance(each, str):
                found.append(each)
            elif isinstance(each, dict):
                self.known(each, here, ("do", "phase", "celsius", "caution", "who"))
                values = {key: self.text(each, here, key) for key in ("do", "phase", "caution", "who")}
                celsius = each.get("celsius")
                if celsius is not None and not is_number(celsius):
                    self.fault((*here, "celsius"), f"celsius must be a number of °C; found {brief(celsius)}")
                    continue
                step = self.made(MakingStep, values | {"celsius": celsius}, here)
                found += [short_step(step)] if isinstance(step, MakingStep) else []
            else:
                self.fault(
                    (*path, "steps"), f"step {n + 1} must be text in quotation marks or a table; found {brief(each)}"
                )
        return tuple(found)

    def text(self, item: Mapping[str, Any], path: Path, key: str, default: str = "") -> str:
        """A text, or a fault."""
        found = item.get(key, default)
        if not isinstance(found, str):
            self.fault((*path, key), f"{key} must be text in quotation marks; found {brief(found)}")
            return default
        if holds_nul(found):
            self.fault((*path, key), NUL)
            return default
        return found

    def number(self, item: Mapping[str, Any], path: Path, key: str) -> float | None:
        """A number of 0 or more, None where there is none, or a fault."""
        found = self.plain(item.get(key), DENSITIES if key == "density" else (0.0, 100.0))
        if found is None:
            return None
        if not is_number(found) or found < 0:
            self.fault((*path, key), f"{key} must be a number of 0 or more, without a unit; found {brief(found)}")
            return None
        return float(found)

    def plain(self, found: Any, likely: tuple[float, float]) -> Any:
        """The number that a text is, read as the one that is ``likely`` if it could be two; else what was found."""
        if not (self.reads_texts and isinstance(found, str)):
            return found
        try:
            number, unit = split_text(found)
            return read_likely(number, *likely) if unit in ("", "%", "g/mL") else found
        except EntryError:
            return found

    def version(self, item: Mapping[str, Any], path: Path, key: str = "version") -> int:
        """The number of a version, 1 where there is none, or a fault: it is never cut to a whole one."""
        found = item.get(key, 1)
        if type(found) is not int or not 1 <= found <= MOST_VERSIONS:
            self.fault((*path, key), f"{key} must be a whole number from 1, such as 3; found {brief(found)}")
            return 1
        return found

    def figure(self, item: Mapping[str, Any], path: Path, key: str) -> Figure | None:
        """A number that the maker herself gave."""
        found = self.number(item, path, key)
        return None if found is None else Figure(found, OWN)

    def mass(self, item: Mapping[str, Any], path: Path, key: str) -> float | None:
        """A mass with its unit, or a fault. [g]"""
        found = item.get(key)
        if found is None:
            return None
        try:
            grams = magnitude(found, "g", name=key)
        except KitError as error:
            self.fault((*path, key), str(error))
            return None
        if not grams > 0:
            self.fault((*path, key), f"{key} must be more than 0 g; found {brief(found)}")
            return None
        return grams

    def choice(self, item: Mapping[str, Any], path: Path, key: str, allowed: tuple[str, ...], default: str) -> str:
        """One of a few words, or a fault that lists them."""
        found = item.get(key, default)
        if found not in allowed:
            self.fault((*path, key), f"{key} must be one of {', '.join(allowed)}; found {brief(found)}")
            return default
        return str(found)

    def shares(self, item: Mapping[str, Any], path: Path, key: str) -> dict[str, float]:
        """A composition: name → % w/w."""
        found = item.get(key, {})
        if isinstance(found, Mapping):
            found = {name: self.plain(share, (0.0, 100.0)) for name, share in found.items()}
        if not isinstance(found, Mapping) or not all(is_number(share) for share in found.values()):
            self.fault((*path, key), f'{key} must be names with numbers: {{ "Aqua" = 90, "Citric Acid" = 10 }}')
            return {}
        return {str(name): float(share) for name, share in found.items()}


def is_number(found: object) -> bool:
    """Whether what a file holds is a number that the kit keeps as it is: finite, and no yes or no."""
    return isinstance(found, int | float) and not isinstance(found, bool) and -MOST < found < MOST


def as_entry(found: object) -> str | None:
    """An amount as typed, from a text or a number of a file; None where it is neither."""
    if isinstance(found, str):
        return found
    if not is_number(found):
        return None
    return unmistakable(str(found))


def _fields(formula: Formula) -> dict[str, Any]:
    return {name: getattr(formula, name) for name in Formula.__dataclass_fields__}
