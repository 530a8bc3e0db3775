"""Cautions: there for every kind, with signal words as ANSI Z535 defines them."""

from washmon.gui.board import cautions
from washmon.gui.board.cautions import Signal, sheets
from washmon.line.flags import Caution

LABEL = "The product label, local codes and licensed practice come first."


def test_every_kind_of_caution_has_its_texts() -> None:
    assert set(sheets()) == set(Caution)
    for sheet in sheets().values():
        assert sheet.short.text.endswith(".")
        assert sheet.full


def test_danger_is_never_said_and_acid_with_bleach_is_a_warning() -> None:
    # ANSI Z535.4: DANGER will kill or seriously injure, WARNING could, CAUTION could injure
    # slightly, NOTICE is not about injury (as quoted publicly).
    texts = [text for sheet in sheets().values() for text in (sheet.short, *sheet.full)]
    assert Signal.DANGER not in {text.signal for text in texts}
    for caution in (Caution.HYPOCHLORITE, Caution.ACID):
        assert sheets()[caution].short.signal is Signal.WARNING
        assert "chlorine gas" in sheets()[caution].short.text
        both = [text for text in sheets()[caution].full if "chlorine gas" in text.text]
        assert both
        assert {text.signal for text in both} == {Signal.WARNING}


def test_beside_a_step_stands_the_gravest_and_none_where_there_is_none() -> None:
    one = cautions.short((Caution.LABEL, Caution.HYPOCHLORITE))
    assert one is not None
    assert one.signal is Signal.WARNING
    assert cautions.short(()) is None


def test_the_whole_ends_with_the_label_even_where_a_step_names_no_caution() -> None:
    assert [text.text for text in cautions.full(())] == [LABEL]
    whole = cautions.full((Caution.LABEL, Caution.ACID))
    assert whole[-1].text == LABEL
    assert [text.text for text in whole].count(LABEL) == 1
