"""A set-up in plain lines, for looking over before it is saved."""

from typing import NamedTuple

from washmon.gui.i18n import tr
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.writing import UNREADABLE, WritingStyle
from washmon.line.setup import (
    Acid,
    LineSetup,
    Margins,
    Price,
    Sanitizer,
    SanitizerKind,
    SoldBy,
    Tank,
    TemperatureRuleKind,
)
from washmon.rules.catalogue import title_of
from washmon.units import Kind

UNKNOWN = UNREADABLE


class Block(NamedTuple):
    """A heading, the first word of the paths that it is about, and its lines."""

    heading: str
    path: str
    lines: list[str]


def _no_location(setup: LineSetup) -> str:
    if setup.site:
        return tr("Location: not written yet")
    return tr("Site and location: not written yet")


def summary(setup: LineSetup, writing: WritingStyle) -> list[Block]:
    """Return the blocks of a set-up; a question mark stands for what is still missing."""
    return [
        Block(
            setup.site or tr("Place"),
            "site",
            [
                setup.location or _no_location(setup),
                tr("{line}: {commodity}", line=setup.line or UNKNOWN, commodity=setup.commodity),
                *_source(setup, writing),
                *_currency(setup, writing),
            ],
        ),
        Block(tr("People"), "people", [_person(setup, at) for at in range(len(setup.people))]),
        Block(
            tr("Products"),
            "sanitizers",
            [_sanitizer(one, writing) for one in setup.sanitizers]
            + [_acid(one, writing) for one in setup.acids],
        ),
        Block(
            tr("Measures"),
            "measures",
            [
                " \N{MIDDLE DOT} ".join(setup_words.measure(name) for name in setup.measures)
                or tr("None"),
                *_instruments(setup),
            ],
        ),
        Block(tr("Margins and delays"), "margins", _margins(setup)),
        Block(tr("Rules"), "rules_off", _rules(setup)),
        *(
            Block(f"{tank.number}  {tank.name}", f"tanks.{at}", _tank(setup, tank, writing))
            for at, tank in enumerate(setup.tanks)
        ),
    ]


def as_the_template_has_it(setup: LineSetup, writing: WritingStyle) -> list[str]:
    """Return in a line each what the essentials do not ask, with its values."""
    tanks = [(tank, _tank(setup, tank, writing)) for tank in setup.tanks]
    dot = " \N{MIDDLE DOT} "
    return [
        # The first line of a tank tells its volume, the third its label: both are asked.
        *(f"{tank.name}: {dot.join((*lines[1:2], *lines[3:]))}" for tank, lines in tanks),
        *(tr("Acid to lower the pH: {acid}", acid=_acid(acid, writing)) for acid in setup.acids),
        tr("Margins and delays: {said}", said=", ".join(_margins(setup)).lower()),
        tr("Rules: {said}", said=", ".join(_rules(setup)).lower()),
        tr("Prices, the fresh water, further people: not told"),
    ]


def _instruments(setup: LineSetup) -> list[str]:
    day, pack = setup.meter_checked_on, setup.strips_use_by
    every = setup.meter_check_days
    meter = (
        tr("pH meter checked every day")
        if every == 1
        else tr("pH meter checked every {days} days", days=every)
    )
    if day is not None:
        meter = tr("{meter}, last on {day}", meter=meter, day=day.isoformat())
    strips = [tr("Strips good until {day}", day=pack.isoformat())] if pack else []
    return [meter, *strips, *unfit_lines(setup)]


def unfit_lines(setup: LineSetup) -> list[str]:
    """Return a line for each instrument that an earlier shift left unfit for use."""
    return [
        tr(
            "Unfit for use: {instrument}, found on {day}",
            instrument=tr(one.instrument),
            day=one.since.isoformat(),
        )
        for one in setup.instruments_unfit
    ]


def _margins(setup: LineSetup) -> list[str]:
    usual = Margins()
    odd = sum(
        getattr(setup.margins, name) != getattr(usual, name) for name in Margins.__struct_fields__
    )
    if not odd:
        return [tr("The usual values")]
    return [tr("1 value of your own") if odd == 1 else tr("{count} values of your own", count=odd)]


def _rules(setup: LineSetup) -> list[str]:
    off = [
        tr("Off: {rule}: {reason}", rule=tr(title_of(one.rule)), reason=one.reason or UNKNOWN)
        for one in setup.rules_off
    ]
    return off or [tr("All are on")]


def _person(setup: LineSetup, at: int) -> str:
    person = setup.people[at]
    return tr(
        "{initials}  {name}, {role}",
        initials=person.initials or UNKNOWN,
        name=person.name or UNKNOWN,
        role=setup_words.word(setup_words.roles(), person.role).lower(),
    )


def _source(setup: LineSetup, writing: WritingStyle) -> list[str]:
    source = setup.source
    known = (
        (tr("alkalinity"), source.alkalinity_mg_l, Kind.CONCENTRATION),
        (tr("pH"), source.ph, Kind.PH),
        (tr("chloride"), source.chloride_mg_l, Kind.CONCENTRATION),
    )
    said = [f"{name} {_figure(value, kind, writing)}" for name, value, kind in known if value]
    return [tr("Fresh water: {known}", known=", ".join(said) or tr("not known"))]


def _currency(setup: LineSetup, writing: WritingStyle) -> list[str]:
    if not setup.currency:
        return [tr("Prices: not written")]
    water = _price(setup.water_price, writing)
    if not water:
        return [tr("Prices in {currency}", currency=setup.currency)]
    return [tr("Prices in {currency}; water {price}", currency=setup.currency, price=water)]


def _price(price: Price | None, writing: WritingStyle) -> str:
    """Return what something costs, such as 28.50 for 20 L; nothing where it is not known."""
    if price is None:
        return ""
    kind = Kind.VOLUME if price.sold_by is SoldBy.VOLUME else Kind.PRODUCE_MASS
    return tr(
        "{cost} for {amount}",
        cost=_figure(price.cost, Kind.MONEY, writing),
        amount=_figure(price.amount, kind, writing),
    )


def _peracetic(product: Sanitizer, writing: WritingStyle) -> str:
    contents = (
        (tr("peracetic acid"), product.strength),
        (tr("hydrogen peroxide"), product.peroxide_pct),
        (tr("HEDP"), product.hedp_pct),
    )
    parts = [
        product.name or UNKNOWN,
        *(
            f"{_figure(value, Kind.PERCENT, writing)} {name}"
            for name, value in contents
            if value is not None
        ),
        _figure(product.density_kg_l, Kind.DENSITY, writing),
        _price(product.price, writing),
        tr("lot {lot}", lot=product.lot) if product.lot else "",
        tr("use by {day}", day=product.use_by.isoformat()) if product.use_by else "",
    ]
    return ", ".join(part for part in parts if part)


def _sanitizer(product: Sanitizer, writing: WritingStyle) -> str:
    if product.kind is SanitizerKind.PERACETIC:
        return _peracetic(product, writing)
    in_g_l = product.basis is not None and product.basis.value.startswith("g_per_l")
    strength = _figure(product.strength, Kind.STRENGTH if in_g_l else Kind.PERCENT, writing)
    basis = next((title for key, title, _ in setup_words.bases() if key == product.basis), UNKNOWN)
    solid = product.kind is SanitizerKind.CALCIUM
    density = None if solid else product.density_kg_l
    parts = [
        product.name or UNKNOWN,
        f"{strength} ({basis[0].lower()}{basis[1:]})",
        "" if density is None else _figure(density, Kind.DENSITY, writing),
        _price(product.price, writing),
        tr("lot {lot}", lot=product.lot) if product.lot else "",
        tr("use by {day}", day=product.use_by.isoformat()) if product.use_by else "",
        ""
        if product.tested_g_l is None
        else tr("tested {strength}", strength=_figure(product.tested_g_l, Kind.STRENGTH, writing)),
    ]
    return ", ".join(part for part in parts if part)


def _acid(acid: Acid, writing: WritingStyle) -> str:
    parts = [
        acid.name or UNKNOWN,
        _figure(acid.strength_pct, Kind.PERCENT, writing),
        _price(acid.price, writing),
        tr("lot {lot}", lot=acid.lot) if acid.lot else "",
        tr("use by {day}", day=acid.use_by.isoformat()) if acid.use_by else "",
    ]
    return ", ".join(part for part in parts if part)


def _tank(setup: LineSetup, tank: Tank, writing: WritingStyle) -> list[str]:
    def ppm(value: float) -> str:
        return _figure(value, Kind.CONCENTRATION, writing)

    def ph(value: float) -> str:
        return _figure(value, Kind.PH, writing)

    sanitizer, acid = setup.sanitizer(tank.sanitizer), setup.acid(tank.acid)
    limits = tank.limits
    means = (
        setup_words.word(setup_words.label_bases(), tank.chlorine.label_basis or "").lower()
        or UNKNOWN
    )
    products = " + ".join(one.name for one in (sanitizer, acid) if one is not None)
    lines = [
        tr(
            "{stage}, {volume}, {products}",
            stage=setup_words.word(setup_words.stages(), tank.stage),
            volume=_figure(tank.volume_l, Kind.VOLUME, writing),
            products=products or UNKNOWN,
        ),
        tr(
            "Peracetic acid {target}, from {low} to {high}; hold under {critical}"
            if tank.peracetic
            else "Free chlorine {target}, from {low} to {high}; hold under {critical}",
            target=ppm(limits.target_mg_l),
            low=ppm(limits.low_mg_l),
            high=ppm(limits.high_mg_l),
            critical=ppm(limits.critical_low_mg_l),
        ),
    ]
    if tank.peracetic:
        lines.append(tr("Label: at most {most}", most=ppm(limits.label_max_mg_l)))
        return [*lines, *_care(tank, writing)]
    target, low, high = (ph(value) for value in (tank.ph.target, tank.ph.low, tank.ph.high))
    lines += [
        tr("Label: at most {most} {means}", most=ppm(limits.label_max_mg_l), means=means),
        tr("pH {target}, from {low} to {high}", target=target, low=low, high=high),
    ]
    return [*lines, *_care(tank, writing)]


def _care(tank: Tank, writing: WritingStyle) -> list[str]:
    """Return the lines on cloudiness, water, checks, contact and temperature."""
    looks = {"faint": tr("card is faint"), "gone": tr("card is gone")}
    cloudy = [
        _figure(tank.turbidity_max_ntu, Kind.TURBIDITY, writing)
        if tank.turbidity_max_ntu is not None
        else "",
        looks.get(tank.look_limit or "", ""),
    ]
    hours = tank.hours_per_fill
    water = [
        tr("{count} batches", count=tank.batches_per_fill) if tank.batches_per_fill else "",
        f"{hours:g} h".replace(".", writing.decimal_point) if hours is not None else "",
    ]
    checks = [
        tr("{count} batches", count=tank.check_batches) if tank.check_batches else "",
        _figure(tank.check_minutes, Kind.TIME, writing) if tank.check_minutes is not None else "",
    ]
    joined = tr(" or ")
    lines = [
        tr("New water: {when}", when=_joined([*cloudy, *water], joined)),
        tr("Check after {when}", when=_joined(checks, joined)),
    ]
    if tank.contact_s is not None:
        lines.append(
            tr("Contact {time} or more", time=_figure(tank.contact_s, Kind.CONTACT_TIME, writing))
        )
    if critical := _critical(tank, writing):
        lines.append(tr("Hold, too: {critical}", critical=", ".join(critical)))
    if (rule := tank.temperature_rule) is not None:
        by = _figure(rule.by_c, Kind.TEMPERATURE_DIFFERENCE, writing)
        lines.append(
            tr("Water at least {by} warmer than the pulp", by=by)
            if rule.kind is TemperatureRuleKind.WARMER
            else tr("Water at most {by} colder than the pulp", by=by)
        )
    return lines


def _critical(tank: Tank, writing: WritingStyle) -> list[str]:
    """Return the critical limits beside the level."""
    contact, most = tank.critical_contact_s, tank.critical_ph
    said = []
    if contact is not None:
        least = _figure(contact, Kind.CONTACT_TIME, writing)
        said.append(tr("contact under {least}", least=least))
    if most is not None and tank.peracetic is None:
        said.append(tr("over pH {most}", most=_figure(most, Kind.PH, writing)))
    if tank.critical_temperature:
        said.append(tr("water too cold"))
    return said


def _joined(parts: list[str], word: str) -> str:
    return word.join(part for part in parts if part) or UNKNOWN


def _figure(value: float | None, kind: Kind, writing: WritingStyle) -> str:
    return UNKNOWN if value is None else writing.show(value, kind)
