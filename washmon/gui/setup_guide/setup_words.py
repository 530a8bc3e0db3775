"""What the set-up's choices are called on the screen."""

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.gui.i18n import tr
from washmon.line.flags import Level
from washmon.line.setup import (
    LabelBasis,
    Look,
    Role,
    SanitizerKind,
    Shape,
    SoldBy,
    Stage,
    TemperatureRuleKind,
)

Words = tuple[tuple[str, str], ...]


def roles() -> Words:
    """Return what a person does."""
    return (
        (Role.SUPERVISOR, tr("Supervisor")),
        (Role.LINE_WORKER, tr("Line worker")),
        (Role.TRAINER, tr("Trainer")),
        (Role.MANAGER, tr("Manager")),
    )


def stages() -> Words:
    """Return what a tank does."""
    return (
        (Stage.DUMP_TANK, tr("Dump tank")),
        (Stage.FLUME, tr("Flume")),
        (Stage.WASH, tr("Wash")),
        (Stage.RINSE, tr("Rinse")),
    )


def label_bases() -> Words:
    """Return which chlorine a label's maximum speaks of."""
    return ((LabelBasis.FREE, tr("Free chlorine")), (LabelBasis.TOTAL, tr("Total chlorine")))


def sanitizers() -> Words:
    """Return the kinds of sanitizer."""
    return (
        (SanitizerKind.SODIUM, tr("Liquid: sodium hypochlorite")),
        (SanitizerKind.CALCIUM, tr("Solid: calcium hypochlorite")),
        (SanitizerKind.PERACETIC, tr("Peracetic acid")),
    )


def acids() -> Words:
    """Return the kinds of acid."""
    return (
        (AcidKind.VINEGAR, tr("White vinegar")),
        (AcidKind.CITRIC, tr("Citric acid, dry")),
        (AcidKind.PHOSPHORIC, tr("Phosphoric acid")),
        (AcidKind.HYDROCHLORIC, tr("Hydrochloric (muriatic) acid")),
        (AcidKind.SODIUM_BISULFATE, tr("Sodium bisulfate, dry")),
    )


def looks() -> Words:
    """Return how cloudy the water may look before it is changed."""
    return (
        (Look.FAINT, tr("Card is faint")),
        (Look.GONE, tr("Card is gone")),
        ("", tr("Not by eye")),
    )


def sold_by() -> Words:
    """Return what an amount on a bill counts."""
    return ((SoldBy.VOLUME, tr("Volume")), (SoldBy.WEIGHT, tr("Weight")))


def shapes() -> Words:
    """Return the shapes that a volume is worked out for."""
    return (
        (Shape.RECTANGULAR, tr("Box")),
        (Shape.ROUND, tr("Round")),
        (Shape.TROUGH, tr("Half-round trough")),
    )


def temperature_rules() -> Words:
    """Return the two opposite rules, and none."""
    return (
        ("", tr("No rule")),
        (TemperatureRuleKind.WARMER, tr("Water warmer than pulp, at least by")),
        (TemperatureRuleKind.NOT_COLDER, tr("Water colder than pulp, at most by")),
    )


def bases() -> tuple[tuple[StrengthBasis, str, str], ...]:
    """Return what a strength can count: its name, and how to know it on a container."""
    return (
        (
            StrengthBasis.WEIGHT_PCT_NAOCL,
            tr("Percent sodium hypochlorite, by weight"),
            tr("Grams of sodium hypochlorite (NaOCl) in 100 g. Common on household labels."),
        ),
        (
            StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
            tr("Percent available chlorine, by weight"),
            tr("Grams of available chlorine in 100 g. Often a second line on the label."),
        ),
        (
            StrengthBasis.TRADE_PCT,
            tr("Trade percent"),
            tr("Grams of available chlorine in 100 mL. Common on drums and carboys."),
        ),
        (
            StrengthBasis.G_PER_L_AVAILABLE_CHLORINE,
            tr("Grams per litre of available chlorine"),
            tr("What a data sheet or a titration gives, such as 125 g/L."),
        ),
    )


def measure(name: str) -> str:
    """Return what a measure is called; its own name where it is not known here."""
    names = {
        "quarter_teaspoon": tr("¼ teaspoon"),
        "half_teaspoon": tr("½ teaspoon"),
        "teaspoon": tr("Teaspoon"),
        "tablespoon": tr("Tablespoon"),
        "quarter_cup": tr("¼ cup"),
        "half_cup": tr("½ cup"),
        "cup": tr("Cup"),
        "fluid_ounce_jug": tr("Jug marked in fl oz"),
        "quart_jug": tr("Jug, 1 qt"),
        "gallon_jug": tr("Jug, 1 gal"),
        "syringe_1_ml": tr("Syringe, 1 mL"),
        "cylinder_10_ml": tr("Cylinder, 10 mL"),
        "cylinder_100_ml": tr("Cylinder, 100 mL"),
        "cylinder_250_ml": tr("Cylinder, 250 mL"),
        "jug_1000_ml": tr("Jug, 1 L"),
        "jug_5_l": tr("Jug, 5 L"),
        "bucket_10_l": tr("Bucket, 10 L"),
        "kitchen_scale": tr("Kitchen scale, 1 g"),
        "spoon_scale": tr("Fine scale, 0.1 g"),
    }
    return names.get(name, name)


def word(choices: Words, key: str) -> str:
    """Return the words of one key."""
    return dict(choices).get(key, key)


Margin = tuple[str, str, str]
"""Name, caption, meaning."""
MarginGroup = tuple[str, str, tuple[Margin, ...]]
"""A heading, what it is about, and its margins."""


def margins() -> tuple[MarginGroup, ...]:
    """Return the margins in groups."""
    return _deadbands(), _ahead(), _pressing()


def _deadbands() -> MarginGroup:
    return (
        tr("When a flag goes down again"),
        tr(
            "How far back inside its limit a value must come before a flag goes down, so that "
            "it does not flutter."
        ),
        (
            ("chlorine_deadband_fraction", tr("Sanitizer"), tr("Of its target.")),
            ("ph_deadband", tr("pH"), ""),
            ("turbidity_deadband_fraction", tr("Cloudiness"), tr("Of its limit.")),
            ("temperature_deadband_c", tr("Temperature"), ""),
            ("gas_deadband_fraction", tr("Chlorine in the air"), tr("Of its limit.")),
        ),
    )


def _ahead() -> MarginGroup:
    return (
        tr("Delays and looking ahead"),
        "",
        (
            (
                "overdue_delay_min",
                tr("A check is overdue after"),
                tr("Beyond the interval of the tank."),
            ),
            (
                "shelve_longest_min",
                tr("A flag is shelved for at most"),
                tr("A stop never is; with 0 nothing is."),
            ),
            (
                "redose_soon_batches",
                tr("Tell of a dose ahead by, batches"),
                tr("Before it is expected."),
            ),
            (
                "change_near_min",
                tr("Tell of a water change ahead by"),
                tr("Before its time is over."),
            ),
            (
                "change_near_batches",
                tr("Tell of a water change ahead by, batches"),
                tr("Before they are used up."),
            ),
        ),
    )


def _pressing() -> MarginGroup:
    return (
        tr("When a value presses"),
        tr("Limits that hold for the whole line."),
        (
            ("act_ph", tr("A high pH must be mended over"), tr("Chlorine works badly there.")),
            (
                "gas_ph",
                tr("Fear chlorine gas under pH"),
                tr("Where free chlorine is not known."),
            ),
            (
                "gas_air_ppm",
                tr("Chlorine in the air that stops work"),
                tr("By volume; 0.5 is an 8-hour limit."),
            ),
            (
                "weak_strength_fraction",
                tr("A product is weak under"),
                tr("Of the strength on its label."),
            ),
            (
                "combined_share",
                tr("Much combined chlorine is over"),
                tr("Of the total chlorine."),
            ),
            (
                "rinse_share",
                tr("A rinse carries dirt over"),
                tr("Of the cloudiness of the wash before it."),
            ),
        ),
    )


def level_word(level: Level) -> str:
    """Return how hard a flag presses."""
    return {
        Level.STOP: tr("Stop and hold"),
        Level.ACT: tr("Act now"),
        Level.WATCH: tr("Watch"),
    }[level]
