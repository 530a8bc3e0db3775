"""The number that stands for a hash on paper: typed again it is the same, a slip is noticed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.line.journal import NoPaperNumber, paper_number, read_paper_number

hashes = st.binary(min_size=32, max_size=32).map(bytes.hex)


@given(hashes, st.sampled_from(["", " ", "-"]))
def test_a_number_that_is_typed_again_is_the_same(digest: str, between: str) -> None:
    number = paper_number(digest)
    assert read_paper_number(number.replace(" ", between)) == number


@given(hashes, st.integers(0, 24), st.integers(1, 9))
def test_one_wrong_digit_is_told_with_its_block(digest: str, place: int, by: int) -> None:
    digits = list(paper_number(digest).replace(" ", ""))
    digits[place] = str((int(digits[place]) + by) % 10)
    with pytest.raises(NoPaperNumber, match=f"Block {place // 5 + 1} "):
        read_paper_number("".join(digits))


def test_the_check_digit_is_luhns() -> None:
    """By the formula 8 is doubled, 16 counts as 1 + 6, and 7 + 1 + 2 makes 10."""
    assert paper_number(f"{18:x}") == "00000 00000 00000 00000 00182"


@pytest.mark.parametrize("text", ["", "12345", "00000 00000 00000 00000 0018x", "1" * 26])
def test_what_is_no_number_is_told_so(text: str) -> None:
    with pytest.raises(NoPaperNumber, match="5 blocks of 5 digits"):
        read_paper_number(text)
