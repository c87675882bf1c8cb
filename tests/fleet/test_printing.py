"""Whatever people wrote can be printed, and stays what they wrote."""

import io
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from fleet import printing, typesetting

TEMPLATE = """
#let data = json(bytes(sys.inputs.data))
#set document(title: "Test", date: none)
#set text(lang: "en")
= Test
#data.text
#data.listed.at(0).inner
"""


@pytest.fixture
def template(tmp_path: Path) -> Path:
    file = tmp_path / "test.typ"
    file.write_text(TEMPLATE)
    return file


def read(template: Path, text: str) -> str:
    content = printing.pdf(template, {"text": text, "listed": [{"inner": text}]})
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize(
    "text",
    [
        '#panic("x") $a + b$ *b* _c_ @d <e> [f] // g /* h */ = i',
        "#import sys: inputs; #read(\"/etc/passwd\")",
        'back\\slash "quoted" `code`',
        "Größe 2½ × Łódź, Ελλάδα, Київ – “so” … 5 €",  # noqa: RUF001
    ],
)  # fmt: skip
def test_markup_is_text(template: Path, text: str) -> None:
    assert read(template, text).count(text) == 2


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("日本 spar", "[U+65E5][U+672C] spar"),
        ("ok 🙂", "ok [U+1F642]"),
        ("a\u202egnidael", "a[U+202E]gnidael"),
        ("a\ufeffb\ue000c\x01d\u0378", "a[U+FEFF]b[U+E000]c[U+0001]d[U+0378]"),
        ("A\u030angstrom", "Ångstrom"),
    ],
)
def test_what_has_no_face_is_spelt_out(template: Path, text: str, printed: str) -> None:
    assert printed in read(template, text)


def test_every_character_that_is_said_to_have_a_face_has_one(template: Path) -> None:
    """Else the second attempt would be refused like the first."""
    shown = [chr(code) for first, last in typesetting.FACES for code in range(first, last + 1)]
    text = " ".join(one for one in shown if typesetting.has_face(one))
    assert typesetting.compiled(template, {"text": text, "listed": [{"inner": ""}]}).startswith(b"%PDF")


def test_an_unfit_character_alone_is_refused_by_the_typesetter(template: Path) -> None:
    """Else nothing here is tested."""
    with pytest.raises(RuntimeError, match="could not be displayed"):
        typesetting.compiled(template, {"text": "日", "listed": [{"inner": ""}]})


def test_a_faulty_template_is_not_hidden(tmp_path: Path) -> None:
    file = tmp_path / "faulty.typ"
    file.write_text("#nothing-of-this-name")
    with pytest.raises(printing.NotPrinted, match="nothing-of-this-name"):
        printing.pdf(file, {})


def test_a_page_that_is_never_finished_is_given_up(template: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printing, "LONGEST_SECONDS", 0.001)
    with pytest.raises(printing.NotPrinted, match="not finished"):
        read(template, "x")


def test_it_is_tagged_and_the_same_bytes_again(template: Path) -> None:
    content = printing.pdf(template, {"text": "x", "listed": [{"inner": "y"}]})
    root: Any = PdfReader(io.BytesIO(content)).root_object
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  # an object of the format
    assert root["/Lang"] == "en"
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    assert content == printing.pdf(template, {"text": "x", "listed": [{"inner": "y"}]})
