"""The stories of the demo sessions. All sheds, people, lots and numbers are invented."""

from msgspec.structs import replace

from tests.tools import demo_second as second
from tests.tools.demo_shed import PHOSPHORIC, DemoShed, DemoShift, line_from_template, shed_time
from tests.tools.demo_water import Produce, Source
from washmon.line.events import Decision, Method
from washmon.line.journal import Entry
from washmon.line.setup import Look, Lot
from washmon.units import UnitSystem

CLEAN_LEAF = DemoShift(
    title="A clean leaf shift",
    note=(
        "A calm morning: two dunks, small leaves with little soil. Watch how rarely "
        "the Board asks for anything when readings are taken on time, and how the first dunk uses "
        "up its chlorine several times faster than the second.\n\n"
        "Ask: why is the first dunk the one to re-dose? What would the trend look like if the "
        "readings came once an hour? Why is the water changed before the batches are used up, "
        "although chlorine and pH are still good? What does it save to dose and measure a second "
        "fill beside the first dunk while the line still washes?"
    ),
    setup=line_from_template(
        "Leafy greens", "Ossenquill shed", tanks={1: {"second_volume_l": 640.0}}
    ),
    source=Source(alkalinity_mg_l=60, ph=6.4, celsius=8.0, degassing_per_min=0.0012),
    produce=Produce(demand_g_kg=0.06, ntu_per_kg_m3=0.07, pulp_c=9.0),
    begins=shed_time(7, 6, 0),
    lots=(Lot(code="LB-0507-3", produce="baby chard"), Lot(code="LB-0507-4", produce="spinach")),
)


def clean_leaf(shed: DemoShed) -> None:
    """Leaf line, 06:00 to 10:01, one planned water change, by a second fill."""
    shed.start()
    shed.at("06:08")
    shed.make_up(1, 2)
    shed.note("First crates from the cold room, hardly any soil.")
    for _ in range(4):
        shed.wash(6, (1, 2), 11.0, every=4)
        shed.check(1, 2)
    second.fill_and_dose(shed, 1)
    shed.wash(2, (1, 2), 11.0, every=4)
    second.read(shed, 1)
    shed.wash(3, (1, 2), 11.0, every=4)
    shed.check(1, 2, ntu=True)
    shed.note("Break. The fill that waits beside the first dunk goes in.", tank=1)
    second.swap(shed, 1)
    shed.read(1)
    shed.at("08:45")
    shed.check(1, 2)
    for _ in range(2):
        shed.wash(6, (1, 2), 11.0, every=4, lot=1)
        shed.check(1, 2, ntu=True)
    shed.wash(5, (1, 2), 11.0, every=4, lot=1)
    shed.check(1, 2)
    shed.wait(1)
    shed.end("All of both lots washed, tanks drained and cleaned.")


MUDDY_ROOTS = DemoShift(
    title="A muddy root flume",
    note=(
        "Carrots after rain. The soil makes the flume cloudy long before the hours or the batches "
        "of the fill are used up, and with the second lot each dose holds for fewer batches than "
        "the one before. At some point chlorine is cheaper in fresh water.\n\n"
        "Ask: at which reading would you have changed the water? What did the last dose before "
        "each change buy? Why does the rinse stay good so much longer?"
    ),
    setup=line_from_template("Root vegetables", "Umberlow shed"),
    source=Source(alkalinity_mg_l=90, ph=6.6, celsius=11.0, degassing_per_min=0.0015),
    produce=Produce(demand_g_kg=0.3, ntu_per_kg_m3=1.05, pulp_c=10.0, carried=0.01),
    begins=shed_time(12, 7, 0),
    lots=(Lot(code="CA-0512-1", produce="carrots"), Lot(code="CA-0512-2", produce="carrots")),
)


def muddy_roots(shed: DemoShed) -> None:
    """Root line, 07:00 to 11:22: two changes for cloudiness, one because doses do not hold."""
    shed.start()
    shed.at("07:10")
    shed.make_up(1, 2)
    shed.note("Heavy soil after two days of rain.")
    for _ in range(2):
        for _ in range(2):
            shed.wash(4, (1, 2), 55.0, every=4)
            shed.check(1, 2, ntu=True)
        shed.wash(4, (1, 2), 55.0, every=4)
        shed.read(1, "ntu")
        shed.note("Flume drained and hosed out, the mud with it.", tank=1)
        shed.make_up(1)
        shed.check(2, ntu=True)
    shed.note("Second lot from the low end of the field, worse than the first.")
    shed.produce = replace(shed.produce, demand_g_kg=0.6)
    for _ in range(4):
        shed.wash(2, (1, 2), 55.0, every=5, lot=1)
        shed.check(1)
    shed.read(2, "ntu")
    shed.note("Dose after dose, and it does not hold: fresh water.", tank=1)
    shed.make_up(1, 2)
    shed.produce = replace(shed.produce, demand_g_kg=0.25)
    for _ in range(2):
        shed.wash(4, (1, 2), 55.0, every=5, lot=1)
        shed.check(1, 2, ntu=True)
    shed.end("Flume drained to the settling pond.")


ALKALINE_WELL = DemoShift(
    title="Alkaline well water",
    note=(
        "Well water from limestone. The chlorine number is fine all morning, but each dose of "
        "hypochlorite lifts the pH, and carbon dioxide that leaves the splashing water lifts it "
        "further. At pH 8 less than a third of the chlorine is active.\n\n"
        "Ask: what share is active at this pH? Why small steps of acid with a reading after each, "
        "and never a fixed amount with each dose? Why must hypochlorite and acid never go in "
        "together? Look at the second lot, too: what is drawn into fruit that is warmer than the "
        "water?"
    ),
    setup=line_from_template("Tree fruit", "Tizzlewick shed", acid=PHOSPHORIC),
    source=Source(alkalinity_mg_l=210, ph=7.3, celsius=18.5, degassing_per_min=0.002),
    produce=Produce(demand_g_kg=0.04, ntu_per_kg_m3=0.02, pulp_c=12.0, carried=0.1),
    begins=shed_time(20, 6, 30, offset_h=-7),
    lots=(Lot(code="AP-0520-1", produce="apples"), Lot(code="AP-0520-2", produce="apples")),
)


def alkaline_well(shed: DemoShed) -> None:
    """Fruit line, 06:30 to 11:03: pH over its limit at the start, one lot too warm."""
    shed.start()
    shed.at("06:45")
    shed.make_up(1, 2, 3, readings=("ntu", "water", "pulp"))
    for _ in range(3):
        shed.treat(1, 2)
    shed.note("pH came down slowly; line starts.")
    for round_ in range(3):
        shed.wash(6, (1, 2, 3), 320.0, every=5)
        shed.check(1, 2, 3)
        shed.treat(1, 2, 3)
        if round_ == 1:
            shed.note("pH creeps up again without anything added.", tank=1)
    shed.produce = replace(shed.produce, pulp_c=15.0)
    shed.note("Second lot stood in the sun.")
    shed.read(1, "water", "pulp")
    shed.read(2, "water", "pulp")
    shed.note("Heater turned up, fruit waits in the shade.")
    shed.wait(25)
    for tank in (1, 2):
        shed.water[tank].celsius = 21.5
    for tank in (1, 2, 3):
        shed.read(tank, "water", "pulp")
    for _ in range(3):
        shed.wash(6, (1, 2, 3), 320.0, every=5, lot=1)
        shed.check(1, 2, 3, ntu=True)
        shed.treat(1, 2, 3)
    shed.end("Acid shut away apart from the hypochlorite.")


MISTAKES = DemoShift(
    title="Mistakes, and product on hold",
    note=(
        "A small wash bench on a bad day: checks are missed, chlorine runs out, a reading is "
        "mistyped, a spoon is mistaken for another. Nothing of it is hidden: the record shows what "
        "was held, who decided, and why.\n\n"
        "Ask: why are batches held that were washed before the bad reading? What tells you that a "
        "tenth of the level cannot be true? What would have happened if the correction had simply "
        "overwritten it? Why is washing again not enough?"
    ),
    setup=line_from_template(
        "Mixed greens and vegetables",
        "Marrowgap stand",
        taste=UnitSystem.US,
        measures=("quarter_teaspoon", "half_teaspoon", "teaspoon", "tablespoon", "cup"),
    ),
    source=Source(alkalinity_mg_l=70, ph=6.5, celsius=12.0, degassing_per_min=0.001),
    produce=Produce(demand_g_kg=0.13, ntu_per_kg_m3=0.3, pulp_c=14.0, carried=0.05),
    begins=shed_time(28, 6, 30),
    lots=(Lot(code="MG-0528-1", produce="mixed greens"), Lot(code="RD-0528-2", produce="radish")),
)


def mistakes(shed: DemoShed) -> None:
    """Wash bench, 06:30 to 10:48: missed checks, two holds, a correction, a hand-over."""
    tubs = (1, 2)
    shed.start(unchecked="Strips in date")
    shed.at("06:40")
    shed.make_up(*tubs, readings=())
    held = _nobody_checks(shed, tubs)
    _a_mistyped_reading(shed, tubs)
    _the_wrong_spoon(shed, tubs)
    shed.by = "AS"
    shed.release(
        held,
        Decision.DIVERT,
        "All batches of the hold go to the kitchen, to be cooked; not sold raw.",
        found="Nobody checked for eight batches, and the wash tub had run out.",
        water="Dosed at once; then both tubs were changed, dosed and found good.",
        prevention="A check after every third batch, whoever stands at the bench.",
    )
    shed.by = "RM"
    shed.hand_over("JO", "Wash tub is used up fast today. Hold one decided. Strips are new.")
    _too_soon_after_the_acid(shed, tubs)
    last = _out_of_chlorine_again(shed, tubs)
    shed.release(
        last,
        Decision.DISCARD,
        "Too late to wash this batch again; to the compost.",
        found="The wash tub was out of chlorine again at the last check.",
        water="Let go after the shift; fresh water tomorrow.",
        prevention="Tomorrow the wash tub is checked after every three batches.",
    )
    shed.end("Bench scrubbed. New strips ordered.")


def _nobody_checks(shed: DemoShed, tubs: tuple[int, ...]) -> Entry:
    shed.wash(6, tubs, 2.3, every=5)
    shed.acknowledge(1, "overdue")
    shed.wash(2, tubs, 2.3, every=5)
    shed.read(1, look=Look.READABLE, method=Method.STRIP)
    held = shed.hold(1, "Nobody checked for eight batches, and the wash tub had run out.")
    shed.heed(1)
    shed.wait(5)
    for tub in tubs:
        shed.read(tub)
    shed.note("From now on a check after every third batch, whoever stands at the bench.")
    shed.make_up(*tubs, readings=())
    return held


def _a_mistyped_reading(shed: DemoShed, tubs: tuple[int, ...]) -> None:
    shed.wash(3, tubs, 2.3, every=5)
    shed.read(2)
    right = shed.seen(1).fac_mg_l or 0.0
    typed = round(right / 10, 1)
    wrong = shed.read(1, fac_mg_l=typed, sure=True)
    shed.wait(1)
    shed.correct(wrong, f"Typed {typed:g}; the kit showed {right:g}.", fac_mg_l=right)
    shed.treat(1)


def _the_wrong_spoon(shed: DemoShed, tubs: tuple[int, ...]) -> None:
    shed.wash(1, tubs, 2.3, every=5)
    for tub in tubs:
        shed.read(tub)
    shed.dose(1, 14.787, "1\N{NO-BREAK SPACE}tbsp", sure=True)
    shed.note("That was the tablespoon, not the teaspoon.", tank=1)
    shed.wait(5)
    shed.read(1, sure=True)
    shed.exchange(1, 9.5)
    shed.wait(5)
    shed.read(1)


def _too_soon_after_the_acid(shed: DemoShed, tubs: tuple[int, ...]) -> None:
    for tub in tubs:
        shed.water[tub].source = Source(alkalinity_mg_l=150, ph=7.2, celsius=12.0)
    shed.note("Fresh water for both tubs, from the other well.")
    shed.make_up(*tubs, readings=())
    shed.heed(1)
    shed.by = "TK"
    shed.wait(2)
    shed.dose(1, 1.232, "¼\N{NO-BREAK SPACE}tsp", sure=True)
    shed.by = "JO"
    shed.note(
        "Hypochlorite went in two minutes after the acid. Stepped back, door open, ten minutes. "
        "From now on one person adds, the other reads.",
        tank=1,
    )
    shed.wait(10)
    shed.read(1)
    shed.treat(1, 2)
    shed.treat(1, 2)
    for _ in range(2):
        shed.wash(3, tubs, 2.3, every=6, lot=1)
        shed.check(*tubs)


def _out_of_chlorine_again(shed: DemoShed, tubs: tuple[int, ...]) -> Entry:
    shed.make_up(1, readings=())
    shed.wash(8, tubs, 2.3, every=5, lot=1)
    shed.wait(30)
    shed.note("Telephone, then a late lunch.")
    shed.wash(1, tubs, 2.3, every=5, lot=1)
    shed.read(1)
    return shed.hold(1, "Nine batches without a check over the break; the wash tub had run out.")


STORIES = {
    "1-clean-leaf-shift": (CLEAN_LEAF, clean_leaf),
    "2-muddy-root-flume": (MUDDY_ROOTS, muddy_roots),
    "3-alkaline-well": (ALKALINE_WELL, alkaline_well),
    "4-mistakes-and-holds": (MISTAKES, mistakes),
}
