"""Registration marks."""

import pytest

from fleet.airworthiness.registration import NATIONALITY_MARKS, validate


@pytest.mark.parametrize(
    "mark",
    [
        "OH-LZA",  # check value T60: Annex 7, read
        "N123AB",  # check value T60: 14 CFR 47.15, from memory, reproduced
        "OE-5123",  # check value T60: Annex 7, read
        "OH-952",  # Annex 7, from memory, reproduced
        "B-3429",  # Annex 7, read
        "D-1234",  # a state may put a hyphen before a digit (Annex 7, from memory, reproduced)
        "D1234",
        "JA1234",
        "HL7700",
        "2-ABCD",
        "9A-GAB",
        "S5-1234",
        "4YB-CAA",
        "G-CABC",
        "ZZ-K01",  # no state has ZZ: well-formed all the same
        "ZZ-1",
        "ZZ12",
        "P500",
        "N1",
        "N12345",
        "N1234A",
        "N1A",
        "N1AA",
        "D-PAN1",
        "D-SOSA",
        "D-1XX",
        "D-QAAA",
        "D-AQAB",
    ],
)
def test_well_formed_marks(mark: str) -> None:
    assert validate(mark) == []


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        ("OHLZA", "Put a hyphen before the letter: OH-LZA."),  # check value T61: Annex 7, read
        ("DEABC", "Put a hyphen before the letter: D-EABC."),
        ("N0123", "After N use 1 to 5 digits"),  # check value T61: 14 CFR 47.15, from memory, reproduced
        ("N12I", "not I or O"),  # check value T61: 14 CFR 47.15, from memory, reproduced
        ("N12O", "not I or O"),
        ("N12IA", "not I or O"),
        ("N12AO", "not I or O"),
        ("NABC", "After N use 1 to 5 digits"),
        ("N123ABC", "After N use 1 to 5 digits"),
        ("N123456", "After N use 1 to 5 digits"),
        ("N1234AB", "After N use 1 to 5 digits"),
        ("N12345A", "After N use 1 to 5 digits"),
        ("N1A2", "After N use 1 to 5 digits"),
        ("N-123AB", "Leave the hyphen out after N."),
        ("ZZK01", "Begin with the nationality mark"),
        ("N", "Begin with the nationality mark"),
        ("123", "Begin with the nationality mark"),
        ("23", "Begin with the nationality mark"),
        ("12-ABC", "Begin with the nationality mark"),
        ("ABCD-12", "Begin with the nationality mark"),
        ("ABC-12", "Begin with the nationality mark"),
        ("3-ABC", "Begin with the nationality mark"),
        ("D-ABCDEFG", "at most 7"),
        ("", "capital letters and digits"),
        ("oh-lza", "capital letters and digits"),
        ("OH LZA", "capital letters and digits"),
        ("OH--LZA", "capital letters and digits"),
        ("OH-LZ-A", "capital letters and digits"),
        ("-LZA", "capital letters and digits"),
        ("OH-", "capital letters and digits"),
        ("ÖH-LZA", "capital letters and digits"),
        ("OH-LZA\n", "capital letters and digits"),
        ("OH-٣٤", "capital letters and digits"),
    ],
)
def test_marks_that_are_not_well_formed_say_what_to_do(mark: str, words: str) -> None:
    (problem,) = validate(mark)
    assert words in problem


@pytest.mark.parametrize("group", ["QAA", "QZZ", "QSO", "SOS", "XXX", "PAN", "TTT"])
def test_signals_and_q_codes_are_not_used(group: str) -> None:
    # Annex 7 (AX7-2), from memory, reproduced.
    (problem,) = validate(f"OH-{group}")
    assert "signal or a Q code" in problem


def test_every_problem_is_told() -> None:
    assert len(validate("DSOS")) == 2
    assert len(validate("N-0123")) == 2


def test_seven_characters_fit() -> None:
    assert validate("D-ABCDEF") == []
    assert len(validate("D-ABCDEFG")) == 1


def test_no_state_has_the_marks_of_the_tests() -> None:
    assert "ZZ" not in NATIONALITY_MARKS
