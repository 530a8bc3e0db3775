"""The templates that come with the program."""

import json
import shutil
from pathlib import Path

import pytest

from washmon import data
from washmon.chemistry.hypochlorite import rise_mg_l
from washmon.chemistry.measures import MEASURES
from washmon.line.reading import strip_range
from washmon.line.setup import Stage, TemperatureRuleKind
from washmon.line.templates import Template, shelf, templates
from washmon.line.validate import faults
from washmon.units import UnitSystem

FOLDER = data.resource("templates")
ALL = templates()


def by_line(line: str) -> Template:
    return next(one for one in ALL if one.line == line)


def test_every_file_that_comes_with_the_program_is_a_template() -> None:
    found = shelf(FOLDER)
    assert found.broken == []
    assert len(found.templates) == len(list(FOLDER.glob("*.json"))) >= 4
    assert found.templates == ALL


@pytest.mark.parametrize("template", ALL, ids=lambda one: one.line)
def test_a_template_lacks_only_its_place_its_people_and_its_labels(template: Template) -> None:
    open_fields = {"people", "sanitizers.0.strength", "sanitizers.0.basis"}
    open_fields |= {f"tanks.{at}.chlorine.label_basis" for at in range(len(template.tanks))}
    found = faults(template.draft())
    assert {fault.path for fault in found} == open_fields


@pytest.mark.parametrize("template", ALL, ids=lambda one: one.line)
def test_a_template_says_where_its_values_come_from(template: Template) -> None:
    for note in (getattr(template.sources, name) for name in template.sources.__struct_fields__):
        assert note.endswith(".")


def test_the_stages_stand_in_the_order_in_which_produce_travels() -> None:
    stages = {one.line: [tank.stage for tank in one.tanks] for one in ALL}
    assert stages["Leaf line"] == [Stage.WASH, Stage.WASH]
    assert stages["Root line"] == [Stage.FLUME, Stage.RINSE]
    assert stages["Fruit line"] == [Stage.DUMP_TANK, Stage.FLUME, Stage.RINSE]
    assert stages["Wash bench"] == [Stage.WASH, Stage.RINSE]


def test_warm_water_takes_tree_fruit_and_cool_water_takes_peppers_no_further() -> None:
    # 10 degF warmer: Florida and FDA tomato immersion guidance, as relayed. 10 degF colder: Vermont
    # Extension, Managing dunk tank water. A difference converts by 5/9 only.
    warm, cool = (
        by_line(line).tanks[0].temperature_rule for line in ("Fruit line", "Cooling line")
    )
    assert warm is not None
    assert cool is not None
    assert warm.kind is TemperatureRuleKind.WARMER
    assert cool.kind is TemperatureRuleKind.NOT_COLDER
    for rule in (warm, cool):
        assert rule.by_c == pytest.approx(10 * 5 / 9, abs=0.01)


def test_greens_are_washed_within_50_to_200_ppm_in_limits_of_ph_around_7() -> None:
    # 50 to 200 ppm total chlorine: USDA GAP and GHP programme, as relayed by trade guidance.
    # pH 6.5 to 7.5: UF/IFAS CH160, and NC State Extension 1993; 7 as the aim is common practice.
    tanks = (*by_line("Leaf line").tanks, *by_line("Wash bench").tanks)
    assert {(tank.ph.low, tank.ph.target, tank.ph.high) for tank in tanks} == {(6.5, 7.0, 7.5)}
    for tank in tanks:
        if tank.stage is Stage.WASH:
            assert 50 <= tank.chlorine.target_mg_l < tank.chlorine.high_mg_l <= 200


def test_greens_are_held_long_before_the_level_that_let_pathogens_pass() -> None:
    # J. Food Prot. 2011, 74(3):352-358: no transfer between cut leaves at 10 mg/L free chlorine,
    # often one at 5 mg/L.
    for tank in (*by_line("Leaf line").tanks, *by_line("Wash bench").tanks):
        if tank.stage is Stage.WASH:
            assert tank.chlorine.critical_low_mg_l > 10
        else:
            assert tank.chlorine.critical_low_mg_l > 5
            assert tank.chlorine.low_mg_l >= 10


def test_the_rinse_of_the_stand_keeps_to_the_label_of_a_household_bleach() -> None:
    # UMass Extension, Produce Wash Water Sanitizers: one label allows 25 ppm on produce.
    assert by_line("Wash bench").tanks[-1].chlorine.label_max_mg_l <= 25


def test_the_wash_of_the_stand_fits_the_pads_of_a_strip() -> None:
    # Pads of 25 and 50 ppm; half way between two of them the eye decides: common practice, no
    # published source.
    wash = by_line("Wash bench").tanks[0].chlorine
    least, most = strip_range(50)
    assert wash.low_mg_l <= least < wash.target_mg_l < most <= wash.high_mg_l
    assert wash.critical_low_mg_l <= strip_range(25)[0]


def test_kitchen_measures_can_make_up_and_keep_the_small_vessels_of_the_stand() -> None:
    # Bleach of 125 g/L by mass balance (White, Handbook of Chlorination, 1972): the smallest
    # spoon lifts a vessel by less than from its low to its high.
    spoon_ml = MEASURES["quarter_teaspoon"].step * MEASURES["quarter_teaspoon"].unit_size
    for tank in by_line("Wash bench").tanks:
        assert tank.volume_l < 40
        rise = rise_mg_l(tank.volume_l, 0.0, spoon_ml, 125.0)
        assert rise < tank.chlorine.high_mg_l - tank.chlorine.low_mg_l


def test_the_farm_stand_changes_water_after_50_lb_or_four_hours() -> None:
    # Farm procedures collected by Vermont Extension: 50 lb per tub, or every four hours.
    for tank in by_line("Wash bench").tanks:
        assert tank.batches_per_fill == 50 / 5
        assert tank.hours_per_fill == 4


def test_a_draft_takes_the_units_and_measures_of_the_person() -> None:
    draft = ALL[0].draft(UnitSystem.US, ("teaspoon",))
    assert draft.taste is UnitSystem.US
    assert draft.measures == ("teaspoon",)
    assert draft.tanks == ALL[0].tanks


@pytest.mark.parametrize(
    ("broken", "reason"),
    [
        (b"", "truncated"),
        (b"\xff\xfe{", "malformed"),
        (b"[]", "Expected `object`"),
        (b'{"title": "Only a title"}', "missing required field"),
    ],
)
def test_a_broken_file_gets_one_sentence_and_the_others_still_load(
    tmp_path: Path, broken: bytes, reason: str
) -> None:
    good = tmp_path / "good.json"
    shutil.copy(FOLDER / "2-root-flume.json", good)
    (tmp_path / "broken.json").write_bytes(broken)
    found = shelf(tmp_path)
    assert [one.line for one in found.templates] == ["Root line"]
    (sentence,) = found.broken
    assert sentence.values["file"] == "broken.json"
    assert reason in str(sentence.values["reason"])


def test_a_misspelt_limit_does_not_become_a_default(tmp_path: Path) -> None:
    raw = json.loads((FOLDER / "2-root-flume.json").read_bytes())
    raw["tanks"][1]["ph"]["hihg"] = raw["tanks"][1]["ph"].pop("high")
    (tmp_path / "misspelt.json").write_text(json.dumps(raw))
    found = shelf(tmp_path)
    assert found.templates == []
    assert "`hihg` - at $.tanks[1].ph" in str(found.broken[0].values["reason"])
