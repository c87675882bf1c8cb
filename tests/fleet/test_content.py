"""What is let in as a photo or a paper, and what is left of it (without HTTP and database)."""

import struct
import subprocess
import sys
from io import BytesIO

import pytest
from PIL import Image, ImageChops, ImageOps, ImageStat

from fleet.errors import Invalid
from fleet.services.content import Content, FileTooLarge, UnsupportedFile, admit
from tests.fleet.files import (
    JPEG,
    PDF,
    PNG,
    SCRIPT,
    archive,
    claiming,
    encoded,
    jpeg,
    located_jpeg,
    packed,
    pdf,
    picture,
    png,
    png_with_text,
    webp,
)
from tests.fleet.hostile import REFUSED, Hostile

AT_MOST = 10 * 1024 * 1024


def admitted(data: bytes, name: str = "", declared: str = "") -> Content:
    return admit(data, name=name, declared=declared, at_most=AT_MOST)


def opened(content: Content) -> Image.Image:
    with Image.open(BytesIO(content.data)) as image:
        image.load()
        return image


def test_there_are_enough_hostile_files() -> None:
    assert len(REFUSED) >= 40


@pytest.mark.parametrize("hostile", REFUSED.values(), ids=REFUSED)
def test_a_hostile_file_is_refused(hostile: Hostile) -> None:
    with pytest.raises(Invalid) as refusal:
        admitted(hostile.make(), hostile.name, hostile.declared)
    expected = {"unsupported_file": UnsupportedFile, "file_too_large": FileTooLarge}.get(hostile.code, Invalid)
    assert type(refusal.value) is expected
    codes = [error.code for error in refusal.value.errors] or [refusal.value.code]
    assert codes == [hostile.code]
    assert refusal.value.detail


@pytest.mark.parametrize(
    ("data", "name", "declared", "kept"),
    [
        (jpeg(), "DSC_0001.JPG", JPEG, JPEG),
        (jpeg(), "photo.jpeg", "image/jpg", JPEG),
        (jpeg(), "", "", JPEG),
        (jpeg(progressive=True), "photo.jpg", JPEG, JPEG),
        (encoded(picture(mode="L"), "JPEG"), "photo.jpg", JPEG, JPEG),
        (encoded(picture(mode="CMYK"), "JPEG"), "photo.jpg", JPEG, JPEG),
        (png(), "photo.png", PNG, PNG),
        (png("RGBA"), "photo.png", PNG, PNG),
        (png("P", transparency=3), "photo.png", "application/octet-stream", PNG),
        (png("L"), "photo.png", PNG, PNG),
        (png("1"), "photo.png", PNG, PNG),
        (webp(), "photo.webp", "image/webp", JPEG),
        (webp(lossless=True), "photo.webp", "image/webp", JPEG),
        (webp("RGBA"), "photo.webp", "image/webp", PNG),
        (pdf(), "paper.pdf", PDF, PDF),
        (pdf(packed(b"4 0 << /Type /Font >>")), "paper.pdf", PDF, PDF),
        (pdf(tail=b"\r\n\0 "), "paper.pdf", f"{PDF}; charset=binary", PDF),
    ],
)
def test_honest_files_are_kept(data: bytes, name: str, declared: str, kept: str) -> None:
    content = admitted(data, name, declared)
    assert content.content_type == kept
    if kept == PDF:
        assert (content.data, content.width, content.height) == (data, None, None)
    else:
        assert opened(content).size == (content.width, content.height) == (64, 48)


TELLTALE = (b"Exif", b"GPS", b"Invented Camera", b"xmpmeta", SCRIPT, b"ICC_PROFILE", b"Comment", b"index.html")


@pytest.mark.parametrize(
    "data",
    [
        located_jpeg(),
        jpeg(icc_profile=b"profile" * 40),
        jpeg(comment=SCRIPT),
        jpeg() + archive(),
        jpeg() + SCRIPT,
        png_with_text(),
        png() + archive(),
        webp(exif=b"Exif\0\0II*\0", xmp=b"<x:xmpmeta/>"),
        encoded(picture(), "MPO", save_all=True, append_images=[picture()]),
    ],
    ids=["located", "profile", "comment", "archive", "html", "text", "archive in png", "webp", "two pictures"],
)
def test_nothing_but_the_picture_remains(data: bytes) -> None:
    content = admitted(data)
    assert not [mark for mark in TELLTALE if mark in content.data]
    image = opened(content)
    assert not image.getexif()
    assert not {"exif", "xmp", "icc_profile", "comment", "gps"} & image.info.keys()
    assert getattr(image, "n_frames", 1) == 1


# Exif orientation (Exif 2.32, tag 0x0112, from memory, reproduced): which edge the black left half comes to lie on
@pytest.mark.parametrize(
    ("orientation", "size", "black"),
    [
        (1, (64, 32), (8, 16)),
        (2, (64, 32), (56, 16)),
        (3, (64, 32), (56, 16)),
        (4, (64, 32), (8, 16)),
        (5, (32, 64), (16, 8)),
        (6, (32, 64), (16, 8)),
        (7, (32, 64), (16, 56)),
        (8, (32, 64), (16, 56)),
        (99, (64, 32), (8, 16)),
    ],
)
def test_the_picture_stands_upright(orientation: int, size: tuple[int, int], black: tuple[int, int]) -> None:
    image = opened(admitted(located_jpeg(orientation)))
    assert image.size == size
    opposite = (size[0] - 1 - black[0], size[1] - 1 - black[1])
    assert max(image.getpixel(black)) < 60  # type: ignore[arg-type]
    assert min(image.getpixel(opposite)) > 200  # type: ignore[arg-type]


def test_a_large_photo_is_made_smaller() -> None:
    content = admitted(encoded(Image.new("RGB", (8160, 6120), "grey"), "JPEG"))
    assert (content.content_type, content.width, content.height) == (JPEG, 4000, 3000)


def test_a_large_png_is_kept_as_jpeg_on_white() -> None:
    image = opened(admitted(encoded(Image.new("RGBA", (2100, 2000), (0, 0, 0, 0)), "PNG")))
    assert (image.format, image.mode) == ("JPEG", "RGB")
    assert min(image.getpixel((1000, 1000))) > 250  # type: ignore[arg-type]


def test_a_strip_of_a_picture() -> None:
    assert admitted(encoded(Image.new("RGB", (20_000, 1)), "PNG")).height == 1


def test_the_digest_is_of_what_is_kept() -> None:
    content = admitted(jpeg())
    assert len(content.digest) == 64
    assert content.digest != admitted(png()).digest


def test_size_counts_before_kind() -> None:
    with pytest.raises(FileTooLarge):
        admit(b"x" * 11, name="", declared="", at_most=10)


def test_a_claimed_size_is_refused_before_anything_is_decoded() -> None:
    with pytest.raises(Invalid, match="9001 x 9000"):
        admitted(claiming(jpeg(), 9001, 9000))


def test_a_webp_says_its_size_before_it_is_opened() -> None:
    lossless = webp(lossless=True)
    size = struct.pack("<I", (16_383 << 14) | 16_383)  # both dimensions at their most
    with pytest.raises(Invalid, match="16384 x 16384"):
        admitted(lossless[:21] + size + lossless[25:])


MEASURED = """
from pathlib import Path
from fleet.errors import Invalid
from fleet.services.content import admit
from tests.fleet.hostile import REFUSED

files = [(one.make(), one) for one in REFUSED.values()]
most = []
for _ in range(3):
    for data, one in files:
        try:
            admit(data, name=one.name, declared=one.declared, at_most=10 * 1024 * 1024)
        except Invalid:
            pass
    (line,) = [one for one in Path("/proc/self/status").read_text().splitlines() if one.startswith("VmHWM")]
    most.append(int(line.split()[1]) // 1024)
print(*most)
"""


def test_memory_stays_flat() -> None:
    """All hostile files three times in a process of its own: bounded in the first round, and no more after it."""
    done = subprocess.run([sys.executable, "-c", MEASURED], capture_output=True, text=True, check=True)
    first, *later = (int(megabytes) for megabytes in done.stdout.split())
    assert first < 200
    assert max(later) <= first + 16


def test_turned_as_the_imaging_library_turns_it() -> None:
    for orientation in range(1, 9):
        with Image.open(BytesIO(located_jpeg(orientation))) as sent:
            expected = ImageOps.exif_transpose(sent)
        ours = opened(admitted(located_jpeg(orientation)))
        assert max(ImageStat.Stat(ImageChops.difference(ours, expected)).mean) < 2
