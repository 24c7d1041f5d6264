"""A few spoilt inputs for every door of the program; `tests/fuzz/doors.py` throws more of them."""

from __future__ import annotations

import os
import signal

import pytest
from fuzz.doors import DOORS, one_case, option_words, sound_files

FOUND = {
    "record": (50020, 50045, 50122, 61252, 61266, 62416, 71144, 71145, 141339),
    "beds": (143089,),
    "import": (50129, 61175, 151219, 151597, 170460),
    "result": (61907, 151025, 155475),
}
"""Cases that once found a fault."""
CASES = {"record": 1, "import": 1, "run": 2, "turns": 2, "workbook": 2}

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGALRM"), reason="slow calls are stopped")


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sound")
    sound_files(folder)
    return folder


@pytest.mark.parametrize("door", DOORS)
def test_a_spoilt_input_gets_one_clear_answer(sound, tmp_path, door):
    here = os.getcwd()
    for seed in (*range(CASES.get(door, 5)), *FOUND.get(door, ())):
        assert one_case(door, seed, sound, tmp_path / str(seed)) == []
    assert os.getcwd() == here


def test_every_command_is_called_with_options():
    """The fuzzer of options knows all commands, and each of them comes up."""
    import random

    from fuzz.doors import _parsers

    called = {" ".join(option_words(random.Random(seed))) for seed in range(800)}
    for name in _parsers():
        assert any(words.startswith(name) for words in called), name
