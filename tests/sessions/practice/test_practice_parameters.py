"""The file of the model is read strictly, and says in one sentence what is wrong with it."""

from pathlib import Path

import pytest

from tests.some import some
from washmon.data import resource
from washmon.line.templates import templates
from washmon.sessions.practice.parameters import PracticeError, parameters, read_parameters

TEXT = resource("practice", "model.toml").read_text(encoding="utf-8")


def test_the_model_that_comes_along_has_a_source_for_each_value() -> None:
    model = parameters()
    assert len(model.sources) == TEXT.count("value =")
    assert all(source.strip() for source in some(model.sources.values()))


def test_each_commodity_has_a_line_among_the_templates() -> None:
    known = {template.commodity for template in templates()}
    assert {one.line for one in parameters().commodity.values()} <= known


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("per_10_c = {", "per_ten_c = {", "lacks per_10_c in kinetics"),
        ("[card]", "extra = 1\n[card]", "unknown extra in instrument.thermometer"),
        ("value = 0.0133", "value = -0.0133", "kinetics.fast_l_mg_min must be between"),
        ("value = 0.0133", "value = nan", "kinetics.fast_l_mg_min must be between"),
        ("value = 0.0133", 'value = "fast"', "needs a value, a unit and a source"),
        ('unit = "L/(mg min)"', 'unit = "L/(g h)"', "must be in L/(mg min), not in L/(g h)"),
        ('source = "By definition"', 'source = " "', "has no source"),
        ("value = 150.0", "value = 30.0", "card.gone_ntu must be above"),
        ("[dirtiness.muddy]", "[dirtiness.filthy]", "lacks muddy in dirtiness"),
        ("[instrument.kit]", "[instrument.drops]", "lacks kit in instrument"),
        ('line = "Tree fruit"', "line = 3", "commodity.tree_fruit.line must be a text"),
        ("[kinetics]", "[[kinetics]]", "kinetics must be a table"),
        ("[kinetics]", "[kinetics", "cannot be read"),
        ("error_share = { value = 0.15", "error_share = { valu = 0.15", "card.error_share needs"),
    ],
)
def test_a_damaged_model_is_refused_with_the_place(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    assert old in TEXT
    path = tmp_path / "model.toml"
    path.write_text(TEXT.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(PracticeError) as refused:
        read_parameters(path)
    assert words in str(refused.value)
    assert str(refused.value).endswith(".")


def test_a_missing_model_is_told(tmp_path: Path) -> None:
    with pytest.raises(PracticeError, match=r"cannot be read .* restore the file\.$"):
        read_parameters(tmp_path / "none.toml")
