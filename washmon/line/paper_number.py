"""A hash as a number that people copy onto paper and type again: the witness that no disk holds.

Five blocks of five digits. The first four of each are a part of the hash, the last one checks them
(Luhn; ISO/IEC 7812-1, annex B, from memory), so that a slip of the pen is told apart from a
changed record.
"""

import re

_BLOCKS, _DIGITS = 5, 4
_MODULUS = 10 ** (_BLOCKS * _DIGITS)


class NoPaperNumber(ValueError):  # noqa: N818 - says what it is
    """What was typed is no such number, or one of its digits is wrong."""


def paper_number(digest: str) -> str:
    """Return the number of a hash (hex): ``48213 09971 ...``; of 10^20 hashes two have the same."""
    digits = f"{int(digest, 16) % _MODULUS:0{_BLOCKS * _DIGITS}}"
    blocks = (digits[at : at + _DIGITS] for at in range(0, len(digits), _DIGITS))
    return " ".join(f"{block}{_check_digit(block)}" for block in blocks)


def read_paper_number(text: str) -> str:
    """Return a typed number as :func:`paper_number` writes it.

    Raises:
        NoPaperNumber: which block is wrong.
    """
    digits = re.sub(r"[\s.,-]", "", text)
    if not re.fullmatch(rf"[0-9]{{{_BLOCKS * (_DIGITS + 1)}}}", digits):
        raise NoPaperNumber(f"A witness number has {_BLOCKS} blocks of {_DIGITS + 1} digits.")
    size = _DIGITS + 1
    blocks = [digits[at : at + size] for at in range(0, len(digits), size)]
    for place, block in enumerate(blocks, 1):
        if str(_check_digit(block[:-1])) != block[-1]:
            raise NoPaperNumber(f"Block {place} ({block}) has a wrong digit: look at it again.")
    return " ".join(blocks)


def _check_digit(block: str) -> int:
    """Return the digit that makes a block one that Luhn's formula accepts."""
    doubled = (2 * int(one) if place % 2 else int(one) for place, one in enumerate(block))
    return -sum(value // 10 + value % 10 for value in doubled) % 10
