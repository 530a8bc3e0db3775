"""What is to be kept by 21 CFR 112.50 and 117.190, paragraph by paragraph."""

from washmon.line.papers_asked import ASKED

OF_WASH_WATER = {
    "112.50(b)": {"(1)", "(2)", "(5)", "(6)", "(7)", "(10)", "(11)"},
    "117.190(a)": {"(1)", "(2)", "(3)", "(6)"}
    | {f"(4)({one})" for one in ("i", "ii", "iii", "iv", "v", "vi", "vii", "viii")},
}
"""Left out are those of water before harvest only, 112.50(b)(3), (4), (8), (9), and of a supply
chain, 117.190(a)(5). The numbers are those of 21 CFR as it was read for the table; 112.50(b)(11) is
a value from memory."""


def paragraphs(clause: str) -> list[str]:
    """Return each paragraph that a clause names, written out."""
    found: list[str] = []
    for part in clause.split(", "):
        if part[0] == "(":  # goes on where the one before it differs
            found.append(found[-1][: found[-1].rindex("(")] + part)
        else:
            found.append(part)
    return found


def test_each_paragraph_on_wash_water_is_asked_for_once() -> None:
    named = [one for asked in ASKED for one in paragraphs(asked.clause)]
    assert sorted(named) == sorted(
        f"{section}{one}" for section, ones in OF_WASH_WATER.items() for one in ones
    )


def test_what_is_asked_for_can_be_answered() -> None:
    assert [asked.clause for asked in ASKED if not asked.kinds and not asked.here] == []
