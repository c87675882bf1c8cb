"""Photos: verified, decoded whole, and written anew, so that nothing of the sent bytes but the picture remains.

Orientation is applied; position, camera, comments, thumbnails, profiles and whatever hides behind the picture go.
Memory is bounded by the number of pixels, which is checked before anything is decoded.
"""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BytesIO

from PIL import Image, ImageOps

from fleet.errors import Invalid
from fleet.services.content.accepted import Content, refused
from fleet.services.content.webp import header_of

log = logging.getLogger(__name__)

LONGEST_EDGE = 4000  # pixels of what is kept
MOST_PIXELS = 25_000_000  # 100 MB decoded with transparency
MOST_PIXELS_BASELINE = 65_000_000  # a baseline JPEG is decoded at a fraction of its size, row by row
MOST_SCANS = 100  # of a progressive JPEG; encoders write about ten
LARGEST_PNG = 8_000_000  # bytes; a picture that comes out larger is kept as JPEG
JPEG_QUALITY = 88
START_OF_SCAN = b"\xff\xda"
EIGHT_BIT = frozenset({"1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr"})


def admit_jpeg(data: bytes) -> Content:
    """A JPEG, kept as JPEG; of several pictures in one file the first."""
    if data.count(START_OF_SCAN) > MOST_SCANS:
        raise refused("too_complex", "This JPEG has too many scans. Save it anew with another program.")
    return _admitted(data, "JPEG", _as_jpeg)


def admit_png(data: bytes) -> Content:
    """A PNG, kept as PNG."""
    return _admitted(data, "PNG", _as_png)


def admit_webp(data: bytes) -> Content:
    """A WebP, kept as JPEG, or as PNG if it is transparent. Its header is read first: opening it takes memory already."""
    width, height, animated = header_of(data)
    _check_size((width, height), MOST_PIXELS)
    if animated:
        raise _animated()
    return _admitted(data, "WEBP", lambda picture: _as_png(picture) if _transparent(picture) else _as_jpeg(picture))


def _animated() -> Invalid:
    return refused("animated", "Animated pictures are not accepted. Send a single picture.")


def _check_size(size: tuple[int, int], most: int) -> None:
    if size[0] * size[1] > most:
        raise refused("too_many_pixels", f"It has {size[0]} x {size[1]} pixels. Send it with at most {most:,} in all.")


@contextmanager
def _readable() -> Iterator[None]:
    """Whatever a decoder raises means that the file is not what it seems."""
    try:
        yield
    except Invalid:
        raise
    except Image.DecompressionBombError as error:
        raise refused("too_many_pixels", "It claims far too many pixels. Send a smaller picture.") from error
    except Exception as error:
        log.info("a picture could not be read: %s", error)
        raise refused(
            "unreadable", "The picture is damaged or not complete. Open it, save it anew and send that."
        ) from error


def _admitted(data: bytes, of_format: str, encode: Callable[[Image.Image], Content]) -> Content:
    with _readable():
        with Image.open(BytesIO(data), formats=[of_format]) as picture:
            _check(picture)
            picture.verify()  # structure and checksums; the object is used up by it
        with Image.open(BytesIO(data), formats=[of_format]) as picture:
            return encode(_upright(picture))


def _check(picture: Image.Image) -> None:
    baseline = picture.format in {"JPEG", "MPO"} and not picture.info.get("progressive")
    _check_size(picture.size, MOST_PIXELS_BASELINE if baseline else MOST_PIXELS)
    if picture.format in {"PNG", "WEBP"} and getattr(picture, "is_animated", False):
        raise _animated()
    if picture.mode not in EIGHT_BIT:
        raise refused("bit_depth", "Save the picture with 8 bits a channel and send that.")


def _upright(picture: Image.Image) -> Image.Image:
    """Decoded whole, at most ``LONGEST_EDGE`` long, turned the right way up, in a plain mode, without any metadata."""
    edge = max(picture.size)
    if edge > LONGEST_EDGE:
        width, height = (max(1, side * LONGEST_EDGE // edge) for side in picture.size)
        picture.draft(None, (width, height))
    picture.load()
    ImageOps.exif_transpose(picture, in_place=True)
    mode = _plain_mode(picture)
    plain = picture if picture.mode == mode else picture.convert(mode)
    plain.thumbnail((LONGEST_EDGE, LONGEST_EDGE), Image.Resampling.LANCZOS, reducing_gap=None)
    plain.info = {}
    return plain


def _plain_mode(picture: Image.Image) -> str:
    if _transparent(picture):
        return "RGBA"
    return "L" if picture.mode in {"1", "L"} else "RGB"


def _transparent(picture: Image.Image) -> bool:
    return picture.has_transparency_data


def _as_jpeg(picture: Image.Image) -> Content:
    flat = picture
    if picture.mode == "RGBA":
        flat = Image.new("RGB", picture.size, "white")
        flat.paste(picture, mask=picture)
    return _written(flat, "JPEG", "image/jpeg", quality=JPEG_QUALITY)


def _as_png(picture: Image.Image) -> Content:
    written = _written(picture, "PNG", "image/png")
    return written if len(written.data) <= LARGEST_PNG else _as_jpeg(picture)


def _written(picture: Image.Image, as_format: str, content_type: str, **options: int) -> Content:
    out = BytesIO()
    picture.save(out, format=as_format, **options)
    return Content(data=out.getvalue(), content_type=content_type, width=picture.width, height=picture.height)
