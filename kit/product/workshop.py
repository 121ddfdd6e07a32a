"""The numbers of one workshop: its balance, bottle, usual batch and tolerance, asked once and kept in a file.

The file lies in a product's folder, or in the folder above it, where it serves every product there.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.bench.balance import Balance, EitherWay, MoreBalances
from kit.bench.batch_text import BatchText, ByBottles
from kit.errors import Fault, FileFaultsError, KitError
from kit.inputs import Amount, Choice, Number, asked, inputs_of, texts_of
from kit.layers.bottle import bundled_bottles
from kit.rounding import unmistakable
from kit.saving import rewrite
from kit.tables import read_file

if TYPE_CHECKING:
    from kit.product.product import Product
    from kit.saving import Seen

#: How the file is called.
WORKSHOP = "workshop.toml"
HEAD = "The numbers of this workshop. The kit uses them for every product in this folder and in the folders below it."


@dataclass(frozen=True, slots=True)
class Workshop:
    """What a workshop has; None: not said.

    Attributes
    ----------
    balance, carries, repeatability, linearity, other_balances
        See :class:`kit.bench.balance.Balance`. [g]
    tolerance
        What a weighing may be off. [%]
    bottle, fill
        One of the kit's bottles, and the product in each. [mL]
    batch
        What is usually made: a mass [g], or bottles.
    """

    balance: float | None = asked(
        "Balance reads", Amount("g", 1e-7, 1e5), None, unit="g", example="0.1 g", help="Printed on it as 'd ='."
    )
    carries: float | None = asked("Balance carries", Amount("g", 1e-3, 1e6), None, unit="g", example="2000 g")
    repeatability: float | None = asked("Repeatability", Amount("g", 0, 1e4), None, unit="g")
    linearity: float | None = asked("Linearity", EitherWay("g", 0, 1e4), None, unit="g")
    other_balances: tuple[Balance, ...] | None = asked(
        "Other balances", MoreBalances(), None, example="0.001 g up to 100 g; 1 g up to 5 kg"
    )
    tolerance: float | None = asked("A weighing may be off", Number(0.01, 50), None, unit="%", example="1 %")
    bottle: str | None = asked("Bottle", Choice({name: name for name in bundled_bottles()}), None)
    fill: float | None = asked("Filled with", Amount("mL", 0.1, 5000), None, unit="mL", example="100 mL")
    batch: float | ByBottles | None = asked(
        "Usual batch", BatchText("g", 0.01, 1e6), None, example="250 g or 6 x 100 mL"
    )

    def put_into(self, product: Product) -> Product:
        """The product as this workshop makes it; what it does not say stays as it is.

        Raises
        ------
        KitError
            A balance that reads more than it carries.
        """
        plate: dict[str, Any] = {
            "readability": self.balance,
            "capacity": self.carries,
            "repeatability": self.repeatability,
            "linearity": self.linearity,
            "others": self.other_balances,
        }
        said = {name: value for name, value in plate.items() if value is not None}
        if said:
            product = replace(product, balance=replace(product.balance, **said)).knowing("balance")
        if self.tolerance is not None:
            product = replace(product, tolerance=self.tolerance)
        if self.bottle:
            product = product.with_bottle(bundled_bottles()[self.bottle])
        if self.batch is not None:
            product = product.with_batch(self.batch)
        if self.fill is not None:
            product = replace(product, order=replace(product.order, fill=self.fill))
        return product

    @classmethod
    def of(cls, product: Product) -> Workshop:
        """What a product in hand says of the workshop it is made in; a bottle of one's own has no name there."""
        balance, order = product.balance, product.order
        return cls(
            balance.readability,
            balance.capacity,
            balance.repeatability,
            balance.linearity,
            balance.others or None,
            product.tolerance,
            product.bottle.name if product.bottle.name in bundled_bottles() else None,
            order.fill,
            order.by_bottles if order.by == "bottles" else order.grams,
        )


def find_workshop(folder: str | Path) -> Path | None:
    """The file of the workshop: in this folder, else in the one above; None where there is none."""
    here = Path(folder).absolute()
    return next((path for path in (here / WORKSHOP, here.parent / WORKSHOP) if path.is_file()), None)


def read_workshop(path: Path) -> Workshop:
    """The numbers in a file.

    Raises
    ------
    FileFaultsError
        Every fault of the file, as sentences.
    StoreError
        It cannot be read at all.
    """
    return workshop_of(read_file(path), path.name)


def workshop_of(data: bytes, name: str) -> Workshop:
    """The numbers that these bytes hold; see :func:`read_workshop`."""
    try:
        written = tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:  # no text, or no TOML
        problem = f'this is not TOML ({error}). Each line is a name, = and a text in quotes, such as balance = "0.1 g"'
        raise FileFaultsError(name, [Fault("file", problem)]) from error
    inputs = {one.name: one for one in inputs_of(Workshop)}
    values, faults = {}, []
    for key, value in written.items():
        if key not in inputs:
            near = get_close_matches(key, inputs, 1)
            hint = f"Did you mean {near[0]}?" if near else f"It may hold {', '.join(inputs)}."
            faults.append(Fault(key, f"a workshop has no such number. {hint}"))
        elif isinstance(value, bool) or not isinstance(value, str | int | float):
            faults.append(Fault(key, f"write it as a text in quotes, such as {inputs[key].example or '0.01 g'!r}."))
        else:
            try:
                values[key] = inputs[key].read(str(value), beside_unit=True)
            except KitError as error:
                faults.append(Fault(key, str(error).removeprefix("it: ").removeprefix("it ")))
    made = Workshop(**values)
    if made.balance and made.carries and made.balance >= made.carries:
        faults.append(Fault("balance", f"it reads {made.balance:g} g, more than it carries, {made.carries:g} g."))
    if faults:
        raise FileFaultsError(name, faults)
    return made


def save_workshop(workshop: Workshop, path: Path, *, seen: Seen | None = None) -> None:
    """Write the numbers into the file; a maker's comments stay, and what is not said any more goes.

    Raises
    ------
    FileFaultsError
        What is there is no such file; it is not written over.
    StoreError
        It cannot be written, or was changed since it was seen.
    """
    import tomlkit

    texts = {name: _plain(text) for name, text in texts_of(workshop).items()}

    def change(there: bytes | None) -> bytes:
        if there is not None:
            if workshop_of(there, path.name) == workshop:
                return there
            document = tomlkit.parse(there.decode("utf-8-sig"))
        else:
            document = tomlkit.document()
            document.add(tomlkit.comment(HEAD))
        for one in inputs_of(Workshop):
            if one.name in texts:
                document[one.name] = texts[one.name]
            else:
                document.pop(one.name, None)
        return tomlkit.dumps(document).encode("utf-8")

    rewrite(path, change, seen=seen)


def _plain(text: str) -> str:
    """A text whose number cannot be taken for thousands."""
    number, blank, unit = text.partition(" ")
    return f"{unmistakable(number)}{blank}{unit}"
