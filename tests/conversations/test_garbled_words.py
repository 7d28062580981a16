"""What is garbled is shown as it came: each foreign character once, as a person may read it."""

from __future__ import annotations

from steelyard.capture.stream import plain, quoted


def test_a_foreign_character_has_one_stroke_within_a_sentence_too() -> None:
    assert plain("2\xac40") == r"2\xac40"
    assert quoted("2\xac40") == r"'2\xac40'"
    assert quoted("S 2040 lb") == "'S 2040 lb'"
    assert quoted("it's") == '"it\'s"'
