"""Savers of every kind of file, killed at random moments, for the tests: the file is old or new, never half.

They are forked from this one, which has loaded everything already, so that hundreds of them take seconds.

    python tests/killed_savers.py FOLDER COUNT
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
import time
from dataclasses import dataclass, replace
from itertools import count, cycle
from pathlib import Path
from typing import TYPE_CHECKING

from kit.bench.price_list import demo_prices, read_prices, save_prices
from kit.bench.stock_book import StockBook
from kit.blends.trial_file import demo_trial, read_trial, save_trial
from kit.course.hand_in import HandIn, hand_in_text
from kit.course.progress import Progress, Try, read_progress, save_progress
from kit.demos import demo
from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, Phase
from kit.in_use.parting_trial import Trial
from kit.in_use.trial_book import TrialBook
from kit.label.particulars import read_particulars, save_particulars
from kit.label.statements import collected, read_statement, read_statements, save_statements
from kit.library.ingredient import Ingredient
from kit.library.own import read_own, save_own
from kit.product.workshop import Workshop, read_workshop, save_workshop
from kit.saving import earlier_saves, save_text
from kit.stability.plan import plans
from kit.stability.plan_files import read_plan, save_plan

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True)
class Kind:
    """A kind of file: how number ``n`` of many states is saved, and which number a file holds.

    Where a file ``grows``, each save adds one, and it holds how many there are.
    """

    name: str
    save: Callable[[Path, int], object]
    holds: Callable[[Path], int]
    grows: bool = False


def long(number: int) -> str:
    """A text that tells its number and is long enough to be cut."""
    return f"{number} " + "a long note of a bench, to be cut in two. " * 200


def told(text: str) -> int:
    """The number of a text, once it is whole."""
    number = int(text.split(maxsplit=1)[0])
    assert text.strip() == long(number).strip(), "half of it"
    return number


def formula(path: Path, number: int) -> None:
    whole = demo()
    save_formula(replace(whole, title=f"Shake {number}"), path)


def table(path: Path, number: int) -> None:
    lines = tuple(Line(f"Invented {k}", "1") for k in range(number % 20 + 1))
    save_formula(Formula("Table", (Phase("Water layer", "water", lines),)), path)


def plan(path: Path, number: int) -> None:
    usual = next(iter(plans().values()))
    save_plan(path, replace(usual, key="autumn", title=f"Plan {number}"))


def blend(path: Path, number: int) -> None:
    trial = demo_trial()
    save_trial(replace(trial, scores={f"Gloss {number}": next(iter(trial.scores.values()))}, goals={}), path)


def tries(number: int) -> tuple[Try, ...]:
    return tuple(Try("key", n, "1", "right") for n in range(number))


def progress(path: Path, number: int) -> None:
    before = read_progress(path).tries if path.exists() else ()
    save_progress(path, Progress("Ada", (*before, Try("key", len(before), "1", "wrong"))))


def handed_in(path: Path, number: int) -> None:
    save_text(path, hand_in_text(HandIn(Progress("Ada", tries(1)), {"shake.toml": long(number)})))


KINDS = [
    Kind("formula.toml", formula, lambda path: int(read_formula(path).title.split()[1])),
    Kind(
        "prices.csv",
        lambda path, n: save_prices(replace(demo_prices(), prices=demo_prices().prices[: n % 15 + 1]), path),
        lambda path: len(read_prices(path).prices) - 1,
    ),
    Kind("table.csv", table, lambda path: len(read_formula(path).phases[0].lines) - 1),
    Kind("table.xlsx", table, lambda path: len(read_formula(path).phases[0].lines) - 1),
    Kind("blend.csv", blend, lambda path: int(next(iter(read_trial(path).scores)).split()[1])),
    Kind("autumn.plan.toml", plan, lambda path: int(read_plan(path).title.split()[1])),
    Kind(
        "workshop.toml",
        lambda path, n: save_workshop(Workshop(balance=0.1, batch=float(n)), path),
        lambda path: int(str(read_workshop(path).batch).split(".")[0]),
    ),
    Kind(
        "statements.csv",
        lambda path, n: save_statements(
            path, collected(read_statement(f"Oil {k}", "Linalool 5") for k in range(n % 9))
        ),
        lambda path: len(read_statements(path)),
    ),
    Kind(
        "label.csv",
        lambda path, n: save_particulars(path, {"directions": long(n).strip()}),
        lambda path: told(read_particulars(path)["directions"]),
    ),
    Kind(
        "stocks.csv",
        lambda path, n: StockBook(path).made("Stock", "1 g", on="2026-01-12", note=long(n)[:400]),
        lambda path: round(StockBook(path).on_hand("Stock")),
        grows=True,
    ),
    Kind(
        "own.csv",
        lambda path, n: save_own(path, [Ingredient(f"Invented {k}", own=True) for k in range(n % 40 + 1)]),
        lambda path: len(read_own(path)) - 1,
    ),
    Kind("progress.json", progress, lambda path: len(read_progress(path).tries), grows=True),
    Kind(
        "trials.csv",
        lambda path, n: TrialBook(path).keep(Trial("plain", shakes=10, parted=60.0, day="2026-03-14")),
        lambda path: len(TrialBook(path).rows()),
        grows=True,
    ),
    Kind("hand_in.json", handed_in, lambda path: told(json.loads(path.read_text())["formulas"]["shake.toml"])),
]


def forked(kind: Kind, path: Path) -> tuple[int, int]:
    """A saver of its own: its process number, and where it says each save that was done."""
    heard, said = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            for number in count(1):
                kind.save(path, number)
                os.write(said, b"+")
        except BaseException as error:
            os.write(2, f"{kind.name}: {type(error).__name__}: {error}\n".encode())
        os._exit(1)
    os.close(said)
    return child, heard


def kill(folder: Path, times: int) -> dict[str, object]:
    """Kill savers of one kind after another at random moments; what is wrong with their files, in words."""
    total = 0
    chance, wrong, said = random.Random(times), [], dict.fromkeys((kind.name for kind in KINDS), 0)
    for at, kind in zip(range(times), cycle(KINDS), strict=False):
        path = folder / kind.name
        child, heard = forked(kind, path)
        if at % 5:  # one in five is killed at any moment, the others at work
            select.select([heard], [], [], 10)
        time.sleep(chance.uniform(0, 0.02))
        os.kill(child, signal.SIGKILL)
        if os.waitpid(child, 0)[1] != signal.SIGKILL:
            wrong.append(f"{kind.name}: it had ended before it was killed")
        with os.fdopen(heard, "rb") as told_of:
            done = len(told_of.read())
        total += done
        said[kind.name] = said[kind.name] + done if kind.grows else done
        wrong += look(kind, path, said[kind.name], at, earlier=at >= times - len(KINDS))
    return {"wrong": wrong + litter(folder), "kinds": len(KINDS), "said": total}


def look(kind: Kind, path: Path, said: int, kills: int, *, earlier: bool) -> list[str]:
    """What is wrong with a file and, at the end, with its earlier saves."""
    wrong = []
    for file in [path, *(save.path for save in earlier_saves(path) if earlier)] if path.exists() else []:
        try:
            held = kind.holds(file)
        except Exception as error:  # each file is told, whatever is wrong with it
            wrong.append(f"{kind.name}: {file.name} is half: {type(error).__name__}: {error}")
            continue
        if file == path and kind.grows and not said <= held <= said + kills + 1:
            wrong.append(f"{kind.name}: {said} were said to be saved, and it holds {held}")
    if said and not path.exists():
        wrong.append(f"{kind.name} is not there, and was said to be saved")
    return wrong


def litter(folder: Path) -> list[str]:
    """What hidden files are left once each file was saved again."""
    for kind in KINDS:
        kind.save(folder / kind.name, 1000)
    return [f"{file} is left" for file in sorted(folder.rglob(".*"))]


if __name__ == "__main__":
    print(json.dumps(kill(Path(sys.argv[1]), int(sys.argv[2]))))
