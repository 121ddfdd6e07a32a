"""A photo of a reading: a patch of it, the colour of the patch, and where it is kept."""

from __future__ import annotations

import base64
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.stability.photos.colour import (
    CAUTION,
    GREY_CARD,
    centre_patch,
    file_patch,
    patch_colour,
    picture_size,
    thumbnail,
    upright_patch,
)
from kit.widgets.html import findings_list, problem
from kit.widgets.panel import controls, offer, try_to

if TYPE_CHECKING:
    from kit.stability.photos.colour import PatchColour
    from kit.stability.photos.files import Photo
    from kit.stability.plan import Attribute
    from kit.stability.study import Observation
    from kit.widgets.stability_panel import StabilityPanel

    Patch = tuple[int, int, int, int]

NEXT = 0  # in the choice of readings: the next one that is saved of this bottle
#: How many of a bottle's photos are shown, the newest.
SHOWN = 6


class PhotoForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Choose a photo and a patch; its colour can be put into the box for the colour."""

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.upload = ipw.FileUpload(
            accept=".jpg,.jpeg,.png", multiple=False, description="Choose a photo", layout={"width": "auto"}
        )
        self.middle = ipw.Button(description="Patch in the middle", layout={"width": "auto"})
        self.patch_boxes = _boxes("Patch")
        self.card = ipw.Checkbox(description="A grey or white card lies in the picture", indent=False)
        self.card_boxes = _boxes("Card")
        self.reflects = ipw.BoundedFloatText(
            value=100 * GREY_CARD, min=1, max=100, description="The card sends back [%]",
            style={"description_width": "initial"}, layout={"width": "auto"},
        )  # fmt: skip
        self.fill = ipw.Button(description="Put it into the colour box", layout={"width": "auto"})
        self.reading = ipw.Dropdown(description="Photo of", layout={"width": "620px"})
        self.attach = ipw.Button(description="Keep the photo with this reading", layout={"width": "auto"})
        self.picture, self.told, self.message, self.kept = (ipw.HTML() for _ in range(4))
        self.card_row = controls(*self.card_boxes, self.reflects)
        self.work = ipw.VBox(
            [
                self.picture,
                controls(*self.patch_boxes, self.middle),
                self.card,
                self.card_row,
                self.told,
                controls(self.reading, self.fill, self.attach),
            ]
        )
        super().__init__([controls(self.upload), self.work, self.message, self.kept])
        self.content = b""
        self.file_name = ""
        self.colour: PatchColour | None = None
        self._setting = False
        self.upload.observe(self._uploaded, names="value")
        for box in (*self.patch_boxes, *self.card_boxes, self.card, self.reflects):
            box.observe(lambda _: self._look(), names="value")
        self.middle.on_click(lambda _: self._set_patch(self.patch_boxes, centre_patch(*picture_size(self.content))))
        self.fill.on_click(lambda _: try_to(self.message, self._fill))
        self.attach.on_click(lambda _: try_to(self.message, self._attach_to_chosen))
        panel.form.chosen.append(self.show)
        panel.form.after_save.append(self._after_save)
        self._look()

    def show(self) -> None:
        """Offer the readings of the bottle in hand, and show the photos it has."""
        choice = self.panel.form.choice
        bottle = choice.one_bottle
        offered = [("the next reading that is saved of this bottle", NEXT)]
        self.kept.value = ""
        if choice.study is not None and bottle is not None:
            label_of = choice.study.plan.attribute
            here = choice.readings_of(bottle, choice.label)
            offered += [(f"{label_of(row.attribute).label}: {row.value}", row.id) for row in here]
            self.kept.value = self._photos(bottle)
        offer(self.reading, offered)

    def _uploaded(self, _change: object) -> None:
        if not self.upload.value:
            return
        item = self.upload.value[0]
        content, name = bytes(item["content"]), str(item["name"])
        self.upload.value = ()

        def work() -> None:
            size = picture_size(content)
            self.content, self.file_name = content, name
            self._setting = True
            for boxes in (self.patch_boxes, self.card_boxes):
                for box, longest in zip(boxes, (*size, *size), strict=True):
                    box.max = longest
            self.card.value = False
            self._setting = False
            self._set_patch(self.card_boxes, (0, 0, max(1, size[0] // 8), max(1, size[1] // 8)))
            self._set_patch(self.patch_boxes, centre_patch(*size))

        try_to(self.message, work)

    def _set_patch(self, boxes: list[ipw.BoundedIntText], patch: Patch) -> None:
        self._setting = True
        for box, value in zip(boxes, patch, strict=True):
            box.value = value
        self._setting = False
        self._look()

    def _look(self) -> None:
        """Read the patch and draw it, or say why not."""
        if self._setting:
            return
        self.work.layout.display = "" if self.content else "none"
        self.card_row.layout.display = "" if self.card.value else "none"
        self.colour = None
        if not self.content:
            return
        card = _patch(self.card_boxes) if self.card.value else None
        try:
            small = thumbnail(self.content, _patch(self.patch_boxes), card)
            self.picture.value = _image(small, f"{self.file_name} with its patch")
            self.colour = patch_colour(
                self.content, _patch(self.patch_boxes), card=card, card_reflects=self.reflects.value / 100
            )
        except KitError as error:
            self.told.value = problem(str(error))
        else:
            lab = "L* {:.1f}, a* {:.1f}, b* {:.1f}".format(*self.colour.lab)
            said = f"{lab} (D65, 2°{', corrected by the card' if self.colour.corrected else ''})"
            self.told.value = (
                f"<div><b>{said}</b></div>{findings_list(self.colour.findings)}"
                f'<div class="sw-subtitle">{escape(CAUTION)}</div>'
            )
        self.fill.disabled = self.colour is None

    def _colour_attribute(self) -> Attribute | None:
        study = self.panel.form.choice.study
        kinds = study.plan.attributes if study is not None else ()
        return next((one for one in kinds if one.kind == "colour"), None)

    def _fill(self) -> str:
        attribute, bottle = self._colour_attribute(), self.panel.form.choice.one_bottle
        if self.colour is None or attribute is None or bottle is None:
            msg = "Choose a photo and one bottle of a study whose plan asks for a colour."
            raise EntryError(msg)
        form = self.panel.form
        if attribute not in form.choice.unread(bottle, form.choice.label):
            msg = f"{attribute.label} of this bottle is in the log already. Correct it below."
            raise EntryError(msg)
        form.rows.type(form.key(bottle, attribute.key), self.colour.text)
        return f"{self.colour.text} stands in the box {attribute.label}. Save the readings to keep it."

    def _after_save(self, saved: list[Observation]) -> str:
        """Hang the photo that waits on what was just saved: on its colour, its appearance, or the first."""
        bottle = self.panel.form.choice.one_bottle
        if not self.content or self.reading.value != NEXT or bottle is None:
            return ""
        colour = self._colour_attribute()
        wanted = [colour.key if colour else "", "appearance"]
        best = sorted(saved, key=lambda row: wanted.index(row.attribute) if row.attribute in wanted else len(wanted))
        try:
            return self._attach(best[0].id)
        except KitError as error:
            self.message.value = problem(f"The readings are saved; the photo is not: {error}")
            return ""

    def _attach_to_chosen(self) -> str:
        if not self.content:
            msg = "Choose a photo first."
            raise EntryError(msg)
        if self.reading.value == NEXT:
            return "It will be kept with the next reading that is saved of this bottle."
        words = self._attach(self.reading.value)
        self.show()
        return words

    def _attach(self, observation_id: int) -> str:
        log, who = self.panel.logbook, self.panel.form.observer.value.strip()
        colour = self.colour.lab if self.colour else None
        patch = file_patch(self.content, _patch(self.patch_boxes)) if self.colour else None
        note = "corrected by the card" if self.colour and self.colour.corrected else ""
        log.attach_photo(observation_id, self.content, self.file_name, patch=patch, colour=colour, by=who, note=note)
        name, self.content = self.file_name, b""
        self._look()
        return f"{name} is kept with the log."

    def _photos(self, bottle: tuple[str, str]) -> str:
        """The newest photos of a bottle, each with its pull and colour."""
        log, study = self.panel.logbook, self.panel.study
        if study is None:
            return ""
        try:
            photos = log.photos(study.id)
        except KitError:
            return ""
        rows = {row.id: row for row in log.observations(study.id)} if photos else {}
        mine = [p for p in photos if (rows[p.observation_id].batch, rows[p.observation_id].condition) == bottle]
        shown = "".join(self._figure(photo, rows[photo.observation_id]) for photo in mine[-SHOWN:])
        return f'<div class="sw-photos">{shown}</div>' if shown else ""

    def _figure(self, photo: Photo, row: Observation) -> str:
        colour = " · L* {:.1f}, a* {:.1f}, b* {:.1f}".format(*photo.colour) if photo.colour else ""
        words = f"{row.time_point}, {row.observed_on}{colour}"
        try:
            content = self.panel.logbook.photo_file(photo).read_bytes()
            patch = upright_patch(content, photo.patch) if photo.patch else None
            picture = _image(thumbnail(content, patch, longest=170), f"{photo.file_name}, {words}")
        except (OSError, KitError):
            picture = "<div>The photo cannot be found. Look through the log with verify.</div>"
        return f"<figure>{picture}<figcaption>{escape(words)}</figcaption></figure>"


def _boxes(what: str) -> list[ipw.BoundedIntText]:
    named, wide = {"description_width": "initial"}, {"width": "190px"}
    words = {word: f"{what} {word} [px]" for word in ("x", "y", "width", "height")}
    return [
        ipw.BoundedIntText(value=1, min=len(word) > 1, max=1, description=said, style=named, layout=wide)
        for word, said in words.items()
    ]


def _patch(boxes: list[ipw.BoundedIntText]) -> Patch:
    x, y, wide, high = (box.value for box in boxes)
    return x, y, wide, high


def _image(png: bytes, words: str) -> str:
    data = base64.b64encode(png).decode("ascii")
    return f'<img src="data:image/png;base64,{data}" alt="{escape(words, quote=True)}" style="max-width:100%">'
