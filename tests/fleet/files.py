"""Files that people and attackers send, made here so that nobody has to trust a binary in the repository."""

import struct
import zipfile
import zlib
from io import BytesIO
from typing import Any

from PIL import Image, PngImagePlugin

JPEG, PNG, WEBP, PDF = "image/jpeg", "image/png", "image/webp", "application/pdf"
SCRIPT = b"<script>alert(document.domain)</script>"
GPS_IFD, ORIENTATION = 0x8825, 0x0112


def picture(width: int = 64, height: int = 48, mode: str = "RGB") -> Image.Image:
    """Noise, so that nothing compresses to nothing."""
    noise = Image.effect_noise((width, height), 80)
    image = noise.convert(mode) if mode in {"L", "P"} else noise.convert("RGB").convert(mode)
    if mode == "RGBA":
        image.putalpha(128)
    return image


def encoded(image: Image.Image, as_format: str, **options: Any) -> bytes:
    """The bytes of a file."""
    out = BytesIO()
    image.save(out, format=as_format, **options)
    return out.getvalue()


def jpeg(**options: Any) -> bytes:
    """A small photo."""
    return encoded(picture(), "JPEG", **options)


def png(mode: str = "RGB", **options: Any) -> bytes:
    """A small PNG."""
    return encoded(picture(mode=mode), "PNG", **options)


def webp(mode: str = "RGB", **options: Any) -> bytes:
    """A small WebP."""
    return encoded(picture(mode=mode), "WEBP", **options)


def located_jpeg(orientation: int = 6) -> bytes:
    """A photo that tells where and with what it was taken, lying on its side; left half black, right half white."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F] = "Invented Camera Works"
    exif.get_ifd(GPS_IFD).update({1: "N", 2: (48.0, 12.0, 0.5), 3: "E", 4: (16.0, 22.0, 0.5)})
    image = Image.new("RGB", (64, 32), "white")
    image.paste("black", (0, 0, 32, 32))
    return encoded(image, "JPEG", exif=exif, comment=SCRIPT, xmp=b"<x:xmpmeta>home</x:xmpmeta>", quality=95)


def animated(as_format: str) -> bytes:
    """Three frames."""
    frames = [picture() for _ in range(3)]
    return encoded(frames[0], as_format, save_all=True, append_images=frames[1:], duration=50)


def archive() -> bytes:
    """A ZIP."""
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("index.html", SCRIPT)
    return out.getvalue()


def claiming(data: bytes, width: int, height: int) -> bytes:
    """A JPEG whose frame header claims another size."""
    place = data.index(b"\xff\xc0") + 5
    return data[:place] + struct.pack(">HH", height, width) + data[place + 4 :]


def chunk(name: bytes, body: bytes) -> bytes:
    """One chunk of a PNG."""
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png_of(width: int, height: int, *chunks: bytes, depth: int = 8, colour: int = 2) -> bytes:
    """A PNG with this header and these chunks."""
    header = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join((chunk(b"IHDR", header), *chunks, chunk(b"IEND", b"")))


def png_with_text() -> bytes:
    """A PNG with a comment."""
    info = PngImagePlugin.PngInfo()
    info.add_text("Comment", SCRIPT.decode())
    return png(pnginfo=info)


def riff(name: bytes, payload: bytes) -> bytes:
    """A WebP container around one chunk."""
    body = b"WEBP" + name + struct.pack("<I", len(payload)) + payload
    return b"RIFF" + struct.pack("<I", len(body)) + body


def webp_claiming(width: int, height: int) -> bytes:
    """A WebP whose extended header claims this canvas."""
    return riff(b"VP8X", b"\0\0\0\0" + (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little"))


def pdf(*objects: bytes, tail: bytes = b"") -> bytes:
    """A PDF of one empty page with further objects."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R >>"
    pages = b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
    page = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] >>"
    out = b"%PDF-1.7\n"
    for number, body in enumerate((catalogue, pages, page, *objects), start=1):
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    return out + b"trailer << /Root 1 0 R /Size 9 >>\n%%EOF\n" + tail


def packed(objects: bytes, filters: bytes = b"/FlateDecode") -> bytes:
    """An object stream of a PDF."""
    body = zlib.compress(objects)
    return b"<< /Type /ObjStm /N 1 /First 4 /Filter %s /Length %d >>\nstream\n%s\nendstream" % (
        filters,
        len(body),
        body,
    )
