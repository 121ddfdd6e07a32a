"""The colour of a patch of a photo, judged by the library colour-science."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageOps

from kit.errors import EntryError, RangeError
from kit.stability.photos.colour import (
    PHOTO_CAUTION,
    centre_patch,
    file_patch,
    lab_of,
    linear,
    patch_colour,
    picture_size,
    thumbnail,
    upright_patch,
)
from kit.stability.reading import read_colour
from tests.colour_judge import colour

if TYPE_CHECKING:
    from collections.abc import Callable

BYTE = st.integers(0, 255)
D65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]


def picture(pixels: tuple[int, int, int] = (200, 150, 60), size: tuple[int, int] = (60, 40), **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, pixels).save(out, format=more.pop("format", "PNG"), **more)  # type: ignore[arg-type]
    return out.getvalue()


def saved(image: Image.Image, **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, format="PNG", **more)
    return out.getvalue()


def judged(rgb: tuple[float, ...]) -> np.ndarray:
    """L*, a*, b* of colour-science for sRGB values of 0 to 1."""
    return np.asarray(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.array(rgb)), D65))


def patches(content: bytes) -> list[str]:
    return [finding.sentence for finding in patch_colour(content, (0, 0, 20, 20)).findings]


@given(BYTE, BYTE, BYTE)
@example(1, 1, 1)  # so dark that the cube root is a straight line (CIE 15:2018)
@example(5, 0, 9)
def test_any_colour_agrees_with_the_judge(red: int, green: int, blue: int) -> None:
    # The judge's white is the chromaticity of D65, ours the sum of the printed matrix: 0.02 apart at most.
    found = lab_of([linear(one / 255) for one in (red, green, blue)])
    assert found == pytest.approx(judged((red / 255, green / 255, blue / 255)), abs=0.02)


def test_a_grey_has_no_colour() -> None:
    for value in range(256):
        _, red, yellow = lab_of([linear(value / 255)] * 3)
        assert (red, yellow) == pytest.approx((0, 0), abs=1e-9)


@pytest.mark.parametrize(
    ("rgb", "lab"),
    [
        # Of the sRGB primaries under D65, as B. Lindbloom's calculator prints them (from memory, to 0.05).
        ((255, 0, 0), (53.2, 80.1, 67.2)),
        ((0, 255, 0), (87.7, -86.2, 83.2)),
        ((0, 0, 255), (32.3, 79.2, -107.9)),
    ],
)
def test_the_primaries_are_where_they_are_known_to_be(rgb: tuple[int, int, int], lab: tuple[float, ...]) -> None:
    assert lab_of([linear(one / 255) for one in rgb]) == pytest.approx(lab, abs=0.06)


@given(BYTE, BYTE, BYTE)
def test_a_patch_of_one_colour_has_that_colour(red: int, green: int, blue: int) -> None:
    found = patch_colour(picture((red, green, blue)), (5, 5, 20, 20))
    assert found.lab == pytest.approx(judged((red / 255, green / 255, blue / 255)), abs=0.02)
    assert found.rgb == (red, green, blue)


def test_a_patch_is_averaged_in_light() -> None:
    image = Image.new("RGB", (40, 40), "black")
    image.paste((200, 200, 200), (0, 0, 20, 40))
    light = linear(200 / 255) / 2
    wanted = judged(tuple([1.055 * light ** (1 / 2.4) - 0.055] * 3))
    assert patch_colour(saved(image), (0, 0, 40, 40)).lab == pytest.approx(wanted, abs=0.02)


def test_the_colour_is_typed_as_the_log_reads_it() -> None:
    found = patch_colour(picture((118, 118, 118)), (0, 0, 20, 20))
    assert read_colour(found.text) == pytest.approx(found.lab, abs=0.05)
    assert found.text == "49.6 0.0 0.0"


def test_a_jpeg_is_near_what_was_painted() -> None:
    found = patch_colour(picture(format="JPEG", quality=95), (10, 10, 20, 20))
    assert found.lab == pytest.approx(judged((200 / 255, 150 / 255, 60 / 255)), abs=1)


# ---- the card ---------------------------------------------------------------------------------------------


@given(st.tuples(*[st.floats(0.5, 1.0)] * 3), st.tuples(*[st.floats(0.05, 0.5)] * 3))
def test_a_card_takes_the_lamp_out(lamp: tuple[float, ...], surface: tuple[float, ...]) -> None:
    """The same surface under any lamp, judged against the same surface under a white one."""
    image = Image.new("RGB", (60, 20))
    for at, share in ((0, (0.18, 0.18, 0.18)), (20, surface)):
        seen = [round(255 * float(colour.models.eotf_inverse_sRGB(r * k))) for r, k in zip(share, lamp, strict=True)]
        image.paste(tuple(seen), (at, 0, at + 20, 20))
    found = patch_colour(saved(image), (20, 0, 20, 20), card=(0, 0, 20, 20))
    white = judged(tuple(float(colour.models.eotf_inverse_sRGB(r)) for r in surface))
    assert found.corrected
    assert float(colour.delta_E(np.array(found.lab), white, method="CIE 2000")) < 1.5  # rounding to 8 bits


def test_a_white_card_is_told_by_what_it_sends_back() -> None:
    image = Image.new("RGB", (40, 20), (180, 180, 180))
    found = patch_colour(saved(image), (20, 0, 20, 20), card=(0, 0, 20, 20), card_reflects=0.9)
    assert found.lab == pytest.approx((judged((0.9542,) * 3)[0], 0, 0), abs=0.1)  # sRGB 0.9542 is a light of 0.9


@pytest.mark.parametrize(
    ("pixels", "reflects", "words"),
    [
        ((5, 5, 5), 0.18, "The card is too dark in this picture to correct by"),
        ((255, 255, 255), 0.9, "The card is overexposed in this picture"),
        ((100, 100, 100), 0.0, "Write a share above 0 and up to 1"),
        ((100, 100, 100), 1.01, "Write a share above 0 and up to 1"),
    ],
)
def test_a_card_that_cannot_serve_is_refused(pixels: tuple[int, int, int], reflects: float, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        patch_colour(picture(pixels), (0, 0, 20, 20), card=(20, 0, 20, 20), card_reflects=reflects)


def test_a_card_that_sends_back_all_light_makes_its_own_patch_white() -> None:
    image = Image.new("RGB", (40, 20), (180, 180, 180))
    found = patch_colour(saved(image), (20, 0, 20, 20), card=(0, 0, 20, 20), card_reflects=1.0)
    assert found.lab == pytest.approx((100, 0, 0), abs=0.05)  # L* of the white itself


def test_the_wrong_card_is_noticed() -> None:
    image = Image.new("RGB", (40, 20), (240, 240, 240))
    image.paste((60, 60, 60), (0, 0, 20, 20))
    found = patch_colour(saved(image), (20, 0, 20, 20), card=(0, 0, 20, 20), card_reflects=0.9)
    assert "After the correction a channel lies above full light" in found.findings[0].sentence


# ---- what is odd ------------------------------------------------------------------------------------------


def noisy() -> Image.Image:
    image = Image.new("RGB", (40, 40), (40, 40, 40))
    image.paste((220, 220, 220), (0, 0, 40, 10))
    return image


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (lambda: picture((255, 150, 60)), "More than 1 % of the patch is overexposed in a channel"),
        (lambda: picture((0, 150, 60)), "More than 1 % of the patch is black in a channel"),
        (lambda: saved(noisy()), "The patch is uneven"),
    ],
)
def test_an_odd_patch_is_told(content: Callable[[], bytes], words: str) -> None:
    assert any(words in sentence for sentence in patches(content()))


def test_a_small_patch_is_told_and_a_good_one_only_lacks_its_card() -> None:
    small = patch_colour(picture(), (0, 0, 5, 5)).findings
    assert small[0].sentence == "The patch has only 25 pixels. Choose a larger one, 100 at least."
    assert patches(picture()) == ["There is no card to correct by, so the colour of the lamp is in these figures."]


def test_a_card_that_only_half_lies_in_its_patch_is_told() -> None:
    image = Image.new("RGB", (60, 40), (200, 150, 60))
    image.paste((120, 120, 120), (0, 0, 20, 20))
    half = patch_colour(saved(image), (30, 20, 20, 20), card=(0, 0, 20, 40)).findings
    assert [one.place.field for one in half] == ["card"]
    assert "The card is uneven (its values spread by 40 of 255). Let its patch lie wholly on" in half[0].sentence
    assert patch_colour(saved(image), (30, 20, 20, 20), card=(0, 0, 20, 20)).findings == ()


def test_the_caution_names_camera_light_and_card() -> None:
    assert all(word in PHOTO_CAUTION for word in ("camera", "light", "white balance", "grey card"))


@pytest.mark.parametrize("patch", [(-1, 0, 5, 5), (0, 0, 0, 5), (50, 0, 11, 5), (0, 39, 5, 2)])
def test_a_patch_outside_the_picture_is_refused(patch: tuple[int, int, int, int]) -> None:
    with pytest.raises(RangeError, match="The patch does not lie within the picture, which is 60 wide and 40 high"):
        patch_colour(picture(), patch)


# ---- pictures ---------------------------------------------------------------------------------------------


def test_a_profile_of_its_own_is_turned_into_srgb() -> None:
    plain = patch_colour(picture(), (0, 0, 20, 20))
    marked = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert patch_colour(picture(icc_profile=marked), (0, 0, 20, 20)).lab == plain.lab
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    broken = patch_colour(picture(icc_profile=b"no profile at all"), (0, 0, 20, 20))
    other = patch_colour(picture(icc_profile=lab), (0, 0, 20, 20))
    assert broken.lab == other.lab == plain.lab  # what cannot be a profile of a picture is left aside


def test_every_kind_of_png_is_read() -> None:
    see_through = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert patch_colour(saved(see_through), (0, 0, 20, 20)).rgb == (255, 255, 255)
    assert patch_colour(saved(Image.new("L", (40, 40), 118)), (0, 0, 20, 20)).rgb == (118, 118, 118)
    assert patch_colour(saved(Image.new("P", (40, 40), 0)), (0, 0, 20, 20)).rgb == (0, 0, 0)
    assert patch_colour(saved(Image.new("I;16", (40, 40), 118 * 257)), (0, 0, 20, 20)).rgb == (118, 118, 118)


@pytest.mark.parametrize("content", [b"", b"no picture", picture()[:60], b"GIF89a" + bytes(40)])
def test_what_is_no_picture_is_told(content: bytes) -> None:
    damaged = r"The picture is damaged or cut short and cannot be read to its end\. Take it from"
    none = r"This is not a JPEG or PNG picture that can be read\. Save it as JPEG"
    with pytest.raises(EntryError, match=damaged if content.startswith(b"\x89PNG") else none):
        picture_size(content)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_picture_is_seen_upright_and_its_patch_goes_both_ways(orientation: int) -> None:
    image = Image.new("L", (50, 30))
    image.paste(255, (4, 6, 11, 11))
    exif = image.getexif()
    exif[0x0112] = orientation
    content = saved(image, exif=exif)
    box = ImageOps.exif_transpose(Image.open(io.BytesIO(content))).getbbox()
    assert box is not None
    upright = (box[0], box[1], box[2] - box[0], box[3] - box[1])
    assert picture_size(content) == ((50, 30) if orientation < 5 else (30, 50))
    assert file_patch(content, upright) == (4, 6, 7, 5)
    assert upright_patch(content, (4, 6, 7, 5)) == upright
    assert patch_colour(content, upright).rgb == (255, 255, 255)


def test_a_patch_in_the_middle_is_in_the_middle() -> None:
    assert centre_patch(100, 50) == (40, 20, 20, 10)
    assert centre_patch(1, 1) == (0, 0, 1, 1)


def test_the_thumbnail_is_small_upright_and_shows_the_patch() -> None:
    content = picture(size=(800, 400))
    small = Image.open(io.BytesIO(thumbnail(content, (200, 100, 200, 100), (0, 0, 80, 80))))
    assert (small.format, small.size) == ("PNG", (420, 210))
    plain = Image.open(io.BytesIO(thumbnail(content)))
    assert small.tobytes() != plain.tobytes()
    assert plain.getpixel((10, 10)) == (200, 150, 60)
    assert small.getpixel((104, 80)) in ((0, 0, 0), (255, 255, 255))  # the left side of the frame, at 200 * 0.525
    assert Image.open(io.BytesIO(thumbnail(picture(size=(30, 20))))).size == (30, 20)
