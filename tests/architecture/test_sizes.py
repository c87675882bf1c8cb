"""Small files, short functions, telling names."""

from tests.architecture.measures import ROOMS, functions, lines, sources

LONGEST_FILE, LONGEST_FUNCTION = 400, 50
SAY_NOTHING = {"utils.py", "helpers.py", "common.py", "misc.py", "signals.py"}


def test_no_file_is_too_long() -> None:
    assert {str(file): lines(file) for file in sources(*ROOMS, "tests") if lines(file) > LONGEST_FILE} == {}


def test_no_function_is_too_long() -> None:
    code = [file for file in sources(*ROOMS) if "catalogue" not in file.parts]  # the demo's catalogue is data
    sizes = [size for file in code for size in functions(file)]
    assert {name: size for name, size in sizes if size > LONGEST_FUNCTION} == {}


def test_file_names_say_what_is_inside() -> None:
    assert {str(file) for file in sources(*ROOMS, "tests") if file.name in SAY_NOTHING} == set()
