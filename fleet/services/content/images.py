"""Photos: verified, decoded whole, and written anew, so that nothing of the sent bytes but the picture remains.

Orientation is applied; position, camera, comments, thumbnails, profiles and whatever hides behind the picture go.
Memory is bounded by the number of pixels, which is checked before anything is decoded.
"""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BytesIO

from PIL import ExifTags, Image

from fleet.errors import Invalid
from fleet.services.content.accepted import Content, refused
from fleet.services.content.webp import header_of

log = logging.getLogger(__name__)

LONGEST_EDGE = 4000  # pixels of what is kept
# what each decoder may be given, so that none takes much more than 250 MB
MOST_PIXELS_BASELINE = 65_000_000  # a baseline JPEG is decoded at a fraction of its size, row by row
MOST_PIXELS_PROGRESSIVE = 25_000_000
MOST_PIXELS_PNG = 16_000_000
MOST_PIXELS_WEBP = 13_000_000  # its decoder holds the picture three times
MOST_SCANS = 100  # of a progressive JPEG; encoders write about ten
LARGEST_PNG = 4_000_000  # pixels; a larger picture would take long to write and is kept as JPEG
JPEG_QUALITY = 88
START_OF_SCAN = b"\xff\xda"
TURNS = {  # orientation as it was taken -> what makes it upright
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
EIGHT_BIT = frozenset({"1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr"})


def admit_jpeg(data: bytes) -> Content:
    """A JPEG, kept as JPEG; of several pictures in one file the first."""
    if data.count(START_OF_SCAN) > MOST_SCANS:
        raise refused("too_complex", "This JPEG has too many scans. Save it anew with another program.")
    return _admitted(data, "JPEG", _as_jpeg)


def admit_png(data: bytes) -> Content:
    """A PNG, kept as PNG, or as JPEG on white if it is large."""
    return _admitted(data, "PNG", _as_png)


def admit_webp(data: bytes) -> Content:
    """A WebP, kept as JPEG, or as PNG if it is transparent. Its header is read first: opening it takes memory already."""
    width, height, animated = header_of(data)
    _check_size((width, height), MOST_PIXELS_WEBP)
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
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
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
    _check_size(picture.size, _most_pixels(picture))
    if picture.format in {"PNG", "WEBP"} and getattr(picture, "is_animated", False):
        raise _animated()
    if picture.mode not in EIGHT_BIT:
        raise refused("bit_depth", "Save the picture with 8 bits a channel and send that.")


def _most_pixels(picture: Image.Image) -> int:
    if picture.format == "PNG":
        return MOST_PIXELS_PNG
    if picture.format == "WEBP":
        return MOST_PIXELS_WEBP
    return MOST_PIXELS_PROGRESSIVE if picture.info.get("progressive") else MOST_PIXELS_BASELINE


def _upright(picture: Image.Image) -> Image.Image:
    """Decoded whole, at most ``LONGEST_EDGE`` long, turned the right way up, in a plain mode, without any metadata."""
    edge = max(picture.size)
    if edge > LONGEST_EDGE:
        width, height = (max(1, side * LONGEST_EDGE // edge) for side in picture.size)
        picture.draft(None, (width, height))
    picture.load()
    mode, turn = _plain_mode(picture), TURNS.get(_orientation(picture))
    plain = picture if picture.mode == mode else picture.convert(mode)
    plain = plain if turn is None else plain.transpose(turn)
    plain.thumbnail((LONGEST_EDGE, LONGEST_EDGE), Image.Resampling.LANCZOS, reducing_gap=None)
    plain.info = {}
    return plain


def _orientation(picture: Image.Image) -> int:
    try:
        return int(picture.getexif().get(ExifTags.Base.Orientation, 1))
    except Exception as error:  # noqa: BLE001  # the picture is whole; only what is told about it is not
        log.info("the orientation of a picture could not be read: %s", error)
        return 1


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
    if picture.width * picture.height > LARGEST_PNG:
        return _as_jpeg(picture)
    return _written(picture, "PNG", "image/png")


def _written(picture: Image.Image, as_format: str, content_type: str, **options: int) -> Content:
    out = BytesIO()
    picture.save(out, format=as_format, **options)
    return Content(data=out.getvalue(), content_type=content_type, width=picture.width, height=picture.height)
