"""Files that must be refused: name -> the bytes, what they are called, what they are said to be, and the refusal."""

import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from tests.fleet.files import (
    JPEG,
    PDF,
    PNG,
    SCRIPT,
    WEBP,
    animated,
    archive,
    chunk,
    claiming,
    encoded,
    jpeg,
    packed,
    pdf,
    picture,
    png,
    png_of,
    riff,
    webp,
    webp_claiming,
)

UNSUPPORTED = "unsupported_file"


@dataclass(frozen=True, slots=True)
class Hostile:
    """One file. ``code``: why it is refused."""

    make: Callable[[], bytes]
    name: str
    declared: str
    code: str

    @property
    def status(self) -> int:
        """Of the answer."""
        return {UNSUPPORTED: 415, "file_too_large": 413}.get(self.code, 422)


def _bmp() -> bytes:
    return encoded(picture(), "BMP")


def _rows(width: int, height: int) -> bytes:
    return zlib.compress((b"\0" + b"\0" * ((width + 7) // 8)) * height, 9)


AS_JPEG = {
    "text": b"Just a note.",
    "html": b"<!doctype html><html><body>" + SCRIPT,
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "php": b"<?php system($_GET['c']); ?>",
    "shell script": b"#!/bin/sh\nid\n",
    "program for one system": b"\x7fELF\x02\x01\x01" + b"\0" * 60,
    "program for another": b"MZ\x90\0" + b"\0" * 60,
    "film": b"\0\0\0\x18ftypmp42\0\0\0\0",
    "photo of a kind not read": b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
    "sound": b"RIFF\x24\0\0\0WAVEfmt ",
    "icon": b"\0\0\x01\0\x01\0\x10\x10" + b"\0" * 40,
    "one byte": b"\xff",
    "blank before the picture": b"\n" + jpeg(),
    "picture behind html": b"<html>" + jpeg(),
}

REFUSED: dict[str, Hostile] = {
    **{name: Hostile(partial(bytes, data), "photo.jpg", JPEG, UNSUPPORTED) for name, data in AS_JPEG.items()},
    "svg as itself": Hostile(lambda: AS_JPEG["svg"], "drawing.svg", "image/svg+xml", UNSUPPORTED),
    "html as itself": Hostile(lambda: AS_JPEG["html"], "page.html", "text/html", UNSUPPORTED),
    "archive": Hostile(archive, "photo.jpg", JPEG, UNSUPPORTED),
    "archive before a paper": Hostile(lambda: archive() + pdf(), "paper.pdf", PDF, UNSUPPORTED),
    "gif": Hostile(lambda: encoded(picture(), "GIF"), "photo.gif", "image/gif", UNSUPPORTED),
    "animated gif": Hostile(lambda: animated("GIF"), "photo.gif", "image/gif", UNSUPPORTED),
    "bmp": Hostile(_bmp, "photo.bmp", "image/bmp", UNSUPPORTED),
    "tiff": Hostile(lambda: encoded(picture(), "TIFF"), "photo.tif", "image/tiff", UNSUPPORTED),
    "png called jpg": Hostile(png, "photo.jpg", "application/octet-stream", "name_mismatch"),
    "jpeg called exe": Hostile(jpeg, "photo.jpg.exe", JPEG, "name_mismatch"),
    "jpeg called html": Hostile(jpeg, "photo.html", JPEG, "name_mismatch"),
    "jpeg said to be png": Hostile(jpeg, "photo.jpg", PNG, "type_mismatch"),
    "png said to be html": Hostile(png, "photo.png", "text/html", "type_mismatch"),
    "paper said to be a photo": Hostile(pdf, "photo.pdf", JPEG, "type_mismatch"),
    "jpeg of three bytes": Hostile(lambda: b"\xff\xd8\xff", "photo.jpg", JPEG, "unreadable"),
    "jpeg of noise": Hostile(lambda: b"\xff\xd8\xff" + bytes(range(256)) * 40, "photo.jpg", JPEG, "unreadable"),
    "half a jpeg": Hostile(lambda: jpeg()[: len(jpeg()) // 2], "photo.jpg", JPEG, "unreadable"),
    "jpeg without its data": Hostile(lambda: jpeg().partition(b"\xff\xda")[0], "photo.jpg", JPEG, "unreadable"),
    "jpeg of no size": Hostile(lambda: claiming(jpeg(), 0, 0), "photo.jpg", JPEG, "unreadable"),
    "jpeg that claims the largest size": Hostile(
        lambda: claiming(jpeg(), 65_500, 65_500), "photo.jpg", JPEG, "too_many_pixels"
    ),
    "jpeg that claims a large size": Hostile(
        lambda: claiming(jpeg(), 9000, 9000), "photo.jpg", JPEG, "too_many_pixels"
    ),
    "jpeg of a thousand scans": Hostile(
        lambda: jpeg(progressive=True)[:-2] + b"\xff\xda\0\x08\x01\x01\0\x01\x3f\0" * 1000 + b"\xff\xd9",
        "photo.jpg",
        JPEG,
        "too_complex",
    ),
    "signature of a png": Hostile(lambda: png()[:8], "photo.png", PNG, "unreadable"),
    "half a png": Hostile(lambda: png()[: len(png()) // 2], "photo.png", PNG, "unreadable"),
    "png with a wrong checksum": Hostile(
        lambda: (data := png())[:-20] + bytes([data[-20] ^ 1]) + data[-19:], "photo.png", PNG, "unreadable"
    ),
    "png of no size": Hostile(lambda: png_of(0, 0), "photo.png", PNG, "unreadable"),
    "png without data": Hostile(lambda: png_of(10, 10), "photo.png", PNG, "unreadable"),
    "png with garbage for data": Hostile(
        lambda: png_of(10, 10, chunk(b"IDAT", b"no zlib stream at all")), "photo.png", PNG, "unreadable"
    ),
    "png that claims a huge size": Hostile(lambda: png_of(50_000, 50_000), "photo.png", PNG, "too_many_pixels"),
    "png that is huge and small": Hostile(
        lambda: png_of(20_000, 8000, chunk(b"IDAT", _rows(20_000, 8000)), depth=1, colour=0),
        "photo.png",
        PNG,
        "too_many_pixels",
    ),
    "png with a bomb for a comment": Hostile(
        lambda: png_of(1, 1, chunk(b"zTXt", b"k\0\0" + zlib.compress(bytes(100_000_000), 9))),
        "photo.png",
        PNG,
        "unreadable",
    ),
    "animated png": Hostile(lambda: animated("PNG"), "photo.png", PNG, "animated"),
    "png of sixteen bits": Hostile(
        lambda: encoded(picture(mode="L").convert("I;16"), "PNG"), "photo.png", PNG, "bit_depth"
    ),
    "start of a webp": Hostile(lambda: webp()[:16], "photo.webp", WEBP, "unreadable"),
    "half a webp": Hostile(lambda: webp()[: len(webp()) // 2], "photo.webp", WEBP, "unreadable"),
    "webp of an unknown chunk": Hostile(lambda: riff(b"EVIL", bytes(64)), "photo.webp", WEBP, "unreadable"),
    "webp that is none": Hostile(lambda: riff(b"VP8 ", bytes(64)), "photo.webp", WEBP, "unreadable"),
    "webp that claims a huge canvas": Hostile(
        lambda: webp_claiming(16_384, 16_384), "photo.webp", WEBP, "too_many_pixels"
    ),
    "webp of a canvas and nothing": Hostile(lambda: webp_claiming(100, 100), "photo.webp", WEBP, "unreadable"),
    "animated webp": Hostile(lambda: animated("WEBP"), "photo.webp", WEBP, "animated"),
    "paper with a script": Hostile(
        lambda: pdf(b"<< /S /JavaScript /JS (app.alert(1)) >>"), "paper.pdf", PDF, "active_content"
    ),
    "paper with a disguised script": Hostile(
        lambda: pdf(b"<< /S /J#61va#53cript /JS (app.alert(1)) >>"), "paper.pdf", PDF, "active_content"
    ),
    "paper with a packed script": Hostile(
        lambda: pdf(packed(b"4 0 << /S /JavaScript /JS (app.alert(1)) >>")), "paper.pdf", PDF, "active_content"
    ),
    "paper with a script behind a comment": Hostile(
        lambda: pdf(b"% stream\n<< /S /JavaScript >>\n% endstream"), "paper.pdf", PDF, "active_content"
    ),
    "paper that opens something": Hostile(
        lambda: pdf(b"<< /OpenAction << /S /URI /URI (http://x.example) >> >>"), "paper.pdf", PDF, "active_content"
    ),
    "paper that starts a program": Hostile(
        lambda: pdf(b"<< /S /Launch /F (calc.exe) >>"), "paper.pdf", PDF, "active_content"
    ),
    "paper with a file inside": Hostile(
        lambda: pdf(b"<< /Type /EmbeddedFile /Length 0 >>"), "paper.pdf", PDF, "active_content"
    ),
    "encrypted paper": Hostile(
        lambda: pdf().replace(b"/Root", b"/Encrypt 9 0 R /Root"), "paper.pdf", PDF, "active_content"
    ),
    "paper packed twice": Hostile(
        lambda: pdf(packed(b"4 0 << >>", b"[/ASCIIHexDecode /FlateDecode]").replace(b"x\x9c", b"78")),
        "paper.pdf",
        PDF,
        "packed",
    ),
    "paper with a disguised packing": Hostile(
        lambda: pdf(packed(b"4 0 << >>").replace(b"/ObjStm", b"/Obj#53tm")), "paper.pdf", PDF, "packed"
    ),
    "paper with a bomb": Hostile(lambda: pdf(packed(bytes(100_000_000))), "paper.pdf", PDF, "packed"),
    "half a paper": Hostile(lambda: pdf()[:100], "paper.pdf", PDF, "unreadable"),
    "paper followed by html": Hostile(lambda: pdf(tail=SCRIPT), "paper.pdf", PDF, "unreadable"),
    "paper followed by an archive": Hostile(lambda: pdf(tail=archive()), "paper.pdf", PDF, "unreadable"),
    "paper that is an archive too": Hostile(
        lambda: pdf(tail=archive()[:-2] + b"\x06\0\n%%EOF"), "paper.pdf", PDF, "two_files"
    ),
    "paper of no version": Hostile(
        lambda: b"%PDF-" + pdf()[5:].replace(b"1.7", b"x.y", 1), "paper.pdf", PDF, "unreadable"
    ),
    "file that is too large": Hostile(lambda: jpeg() + bytes(10 * 1024 * 1024), "photo.jpg", JPEG, "file_too_large"),
}
