"""A photo of a reading: a patch of it, the colour of the patch, and where it is kept."""

from __future__ import annotations

import base64
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.inputs import Choice, Input, Number, Tick, count
from kit.stability.photos.colour import (
    GREY_CARD,
    PHOTO_CAUTION,
    centre_patch,
    file_patch,
    patch_colour,
    picture_size,
    thumbnail,
    upright_patch,
)
from kit.stability.photos.kept_parts import kept_parts
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, soft
from kit.widgets.study_panel import StudyPart

if TYPE_CHECKING:
    from kit.stability.in_hand import Bottle, StudyInHand
    from kit.stability.photos.colour import Patch, PatchColour
    from kit.stability.photos.files import Photo
    from kit.stability.plan import Attribute
    from kit.stability.study import Observation
    from kit.widgets.study_panel import StudyBench

NEXT = 0  # in the choice of readings: the next one that is saved of this bottle
#: How many of a bottle's photos are shown, the newest.
SHOWN = 6
SIDES = ("x", "y", "width", "height")
PATCH = tuple(Input(name, f"Patch {name}", count(), 1, "px") for name in SIDES)
CARD = (
    *(Input(f"card_{name}", f"Card {name}", count(), 1, "px") for name in SIDES),
    Input("reflects", "The card sends back", Number(1, 100), 100 * GREY_CARD, "%"),
)
HAS_CARD = Input("card", "A grey or white card lies in the picture", Tick(), default=False)
READING = Input("reading", "Photo of", Choice({}), NEXT)


class PhotoForm(StudyPart):
    """Choose a photo and a patch; its colour can be put into the box for the colour."""

    follows_choice = True

    def __init__(self, bench: StudyBench) -> None:
        self.form = Form(
            [*PATCH, HAS_CARD, *CARD, READING],
            [
                Button("upload", "Choose a photo", self._uploaded, file=".jpg,.jpeg,.png"),
                Button("middle", "Patch in the middle", self._to_the_middle),
                Button("fill", "Put it into the colour box", self._fill),
                Button("attach", "Keep the photo with this reading", self._attach_to_chosen),
            ],
            on_change=lambda _: self._look(),
            wide=("card", "reading"),
        )
        self.picture, self.told, self.kept = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.told.add_class("sw-answer")
        self.content, self.file_name = b"", ""
        self.colour: PatchColour | None = None
        super().__init__(bench, [self.picture, self.told, self.form, self.kept])
        bench.on_saved.append(self._after_save)
        self._look()

    def show(self, hand: StudyInHand) -> None:
        """Offer the readings of the bottle in hand, and show the photos it has."""
        bottle = hand.one_bottle
        offered = {NEXT: "the next reading that is saved of this bottle"}
        self.kept.value = ""
        if hand.study is not None and bottle is not None:
            label_of = hand.study.plan.attribute
            here = hand.readings_of(bottle, hand.label)
            offered |= {row.id: f"{label_of(row.attribute).label}: {row.value}" for row in here}
            self.kept.value = self._photos(hand, bottle)
        self.form.offer("reading", offered)

    def _uploaded(self, name: str, content: bytes) -> None:
        size = picture_size(content)
        self.content, self.file_name = content, name
        for prefix in ("", "card_"):
            for side, longest in zip(SIDES, (*size, *size), strict=True):
                self.form.describe(f"{prefix}{side}", reader=count(int(len(side) > 1), longest))
        self.form.set(card=False)
        self._set_patch("card_", (0, 0, max(1, size[0] // 8), max(1, size[1] // 8)))
        self._to_the_middle()

    def _to_the_middle(self) -> None:
        self._set_patch("", centre_patch(*picture_size(self.content)))
        self._look()

    def _set_patch(self, prefix: str, patch: Patch) -> None:
        self.form.set(**{f"{prefix}{side}": value for side, value in zip(SIDES, patch, strict=True)})

    def _patch(self, prefix: str = "") -> Patch:
        x, y, wide, high = self.form.read(*(f"{prefix}{side}" for side in SIDES)).values()
        return x, y, wide, high

    def _look(self) -> None:
        """Read the patch and draw it, or say why not."""
        boxes = [one.name for one in (*PATCH, HAS_CARD, *(CARD if self.form["card"] else ()), READING)]
        self.form.show(*((*boxes, *self.form.actions) if self.content else ("upload",)))
        self.colour = None
        self.told.value = ""
        if not self.content:
            self.picture.value = ""
            return
        try:
            card = self._patch("card_") if self.form["card"] else None
            small = thumbnail(self.content, self._patch(), card)
            self.picture.value = _image(small, f"{self.file_name} with its patch")
            reflects = self.form["reflects"] / 100
            self.colour = patch_colour(self.content, self._patch(), card=card, card_reflects=reflects)
        except KitError as error:
            self.told.value = problem(str(error))
        else:
            lab = "L* {:.1f}, a* {:.1f}, b* {:.1f}".format(*self.colour.lab)
            said = f"{lab} (D65, 2°{', corrected by the card' if self.colour.corrected else ''})"
            self.told.value = f"<div><b>{said}</b></div>{findings_list(self.colour.findings)}{soft(PHOTO_CAUTION)}"
        self.form.enable("fill", can=self.colour is not None)

    def _colour_attribute(self) -> Attribute | None:
        study = self.bench.hand.study
        kinds = study.plan.attributes if study is not None else ()
        return next((one for one in kinds if one.kind == "colour"), None)

    def _fill(self) -> str:
        hand, attribute = self.bench.hand, self._colour_attribute()
        bottle = hand.one_bottle
        if self.colour is None or attribute is None or bottle is None:
            msg = "Choose a photo and one bottle of a study whose plan asks for a colour."
            raise EntryError(msg)
        if attribute not in hand.unread(bottle, hand.label):
            msg = f"{attribute.label} of this bottle is in the log already. Correct it below."
            raise EntryError(msg)
        self.bench.texts = {**self.bench.texts, hand.key(bottle, attribute.key): self.colour.text}
        return f"{self.colour.text} stands in the box {attribute.label}. Save the readings to keep it."

    def _after_save(self, saved: list[Observation]) -> str:
        """Hang the photo that waits on what was just saved: on its colour, its appearance, or the first."""
        if not self.content or self.form["reading"] != NEXT or self.bench.hand.one_bottle is None:
            return ""
        colour = self._colour_attribute()
        wanted = [colour.key if colour else "", "appearance"]
        best = sorted(saved, key=lambda row: wanted.index(row.attribute) if row.attribute in wanted else len(wanted))
        try:
            return self._attach(best[0].id)
        except KitError as error:
            self.form.tell(f"The readings are saved; the photo is not: {error}", "stop")
            return ""

    def _attach_to_chosen(self) -> str:
        if not self.content:
            msg = "Choose a photo first."
            raise EntryError(msg)
        if self.form["reading"] == NEXT:
            return "It will be kept with the next reading that is saved of this bottle."
        words = self._attach(self.form["reading"])
        self.show(self.bench.hand)
        return words

    def _attach(self, observation_id: int) -> str:
        hand, colour = self.bench.hand, self.colour
        hand.log.attach_photo(
            observation_id,
            self.content,
            self.file_name,
            patch=file_patch(self.content, self._patch()) if colour else None,
            colour=colour.lab if colour else None,
            by=hand.by,
            note="corrected by the card" if colour and colour.corrected else "",
        )
        left_out = kept_parts(self.content).sentence
        self.content = b""
        self._look()
        return f"{self.file_name} is kept with the log. {left_out}".rstrip()

    def _photos(self, hand: StudyInHand, bottle: Bottle) -> str:
        """The newest photos of a bottle, each with its pull and colour."""
        assert hand.study is not None
        try:
            photos = hand.log.photos(hand.study.id)
        except KitError:
            return ""
        rows = {row.id: row for row in hand.readings}
        mine = [
            (photo, row)
            for photo in photos
            if (row := rows.get(photo.observation_id)) and (row.batch, row.condition) == bottle
        ]
        shown = "".join(self._figure(photo, row) for photo, row in mine[-SHOWN:])
        return f'<div class="sw-photos">{shown}</div>' if shown else ""

    def _figure(self, photo: Photo, row: Observation) -> str:
        colour = " · L* {:.1f}, a* {:.1f}, b* {:.1f}".format(*photo.colour) if photo.colour else ""
        words = f"{row.time_point}, {row.observed_on}{colour}"
        try:
            content = self.bench.log.photo_file(photo).read_bytes()
            patch = upright_patch(content, photo.patch) if photo.patch else None
            picture = _image(thumbnail(content, patch, longest=170), f"{photo.file_name}, {words}")
        except OSError:
            picture = "<div>The photo cannot be found. Look through the log with verify.</div>"
        except KitError as error:
            picture = f"<div>The photo cannot be shown. {escape(str(error))}</div>"
        return f"<figure>{picture}<figcaption>{escape(words)}</figcaption></figure>"


def _image(png: bytes, words: str) -> str:
    data = base64.b64encode(png).decode("ascii")
    return f'<img src="data:image/png;base64,{data}" alt="{escape(words, quote=True)}" style="max-width:100%">'
