"""The small values of a panel, and which of them cause the tank's state."""

from collections.abc import Iterable

from washmon.chemistry.checks import ChemistryError
from washmon.gui.board.views import ValueView
from washmon.gui.board.words import DASH, clock_words, look_word, method_word
from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import Look
from washmon.line.events import ReadingTaken
from washmon.line.flags import Flag, Level
from washmon.line.state import Placed, TankState
from washmon.rules.chlorine import active_share_pct
from washmon.units import Kind, show

USUAL_WATER_C = 20.0
"""Stands in for a water temperature that was not measured."""

CAUSES = {
    "chlorine-critical": ("free",),
    "chlorine-low": ("free",),
    "chlorine-high": ("free",),
    "chlorine-label": ("free", "combined"),
    "label-by-dose": ("free",),
    "ph-high": ("ph", "active"),
    "ph-low": ("ph",),
    "ph-gas": ("ph", "free"),
    "paa-critical": ("free",),
    "paa-low": ("free",),
    "paa-high": ("free",),
    "paa-limit": ("free",),
    "peroxide-limit": ("peroxide",),
    "cloudy": ("cloudiness", "card"),
    "water-too-cold": ("water", "pulp"),
    "contact-short": ("contact",),
    "batches": ("facts",),
    "hours": ("facts",),
    "overdue": ("age",),
    "first-reading": ("age",),
    "check-after-adding": ("age",),
}
"""By rule: what on the panel shows the reason for its flag."""

Place = Placed[ReadingTaken]


def causing(flags: Iterable[Flag]) -> dict[str, Look]:
    """Return the worst state that each thing on a panel causes."""
    worst: dict[str, Level] = {}
    for flag in flags:
        for name in CAUSES.get(flag.rule, ()):
            if name not in worst or flag.level.rank > worst[name].rank:
                worst[name] = flag.level
    return {name: Look(level.value) for name, level in worst.items()}


class Values:
    """Writes the small values of the water that is in a tank now."""

    def __init__(self, tank: TankState, causes: dict[str, Look], person: Person) -> None:
        self._tank = tank
        self._fill = tank.fill
        self._causes = causes
        self._person = person
        self._newest = self._latest(tank.spec.level_field)

    def views(self) -> tuple[ValueView, ...]:
        """Return pH of chlorine always, others where measured, contact where it is short."""
        chlorine = self._tank.spec.peracetic is None
        dash = ValueView(tr("pH"), DASH, hint=tr("Not measured in this fill"))
        found = (
            self._plain("ph", tr("pH"), "ph", Kind.PH) or (dash if chlorine else None),
            self._active() if chlorine else None,
            self._plain("peroxide", tr("Peroxide"), "peroxide_mg_l", Kind.CONCENTRATION),
            self._turbidity(),
            self._card(),
            self._plain("water", tr("Water"), "water_c", Kind.TEMPERATURE),
            self._plain("pulp", tr("Pulp"), "pulp_c", Kind.TEMPERATURE),
            self._combined(),
            self._contact(),
            self._plain("orp", tr("ORP"), "orp_mv", Kind.POTENTIAL),
        )
        return tuple(view for view in found if view is not None)

    def _latest(self, field: str) -> Place | None:
        return None if self._fill is None else self._fill.latest(field)

    def _plain(self, key: str, name: str, field: str, kind: Kind) -> ValueView | None:
        place = self._latest(field)
        if place is None:
            return None
        value = float(getattr(place.event, field))
        return self._view(key, name, self._person.show(value, kind), place)

    def _turbidity(self) -> ValueView | None:
        place = self._latest("turbidity_ntu")
        if place is None or place.event.turbidity_ntu is None:
            return None
        taste, point = self._person.taste, self._person.decimal_point
        text = show(place.event.turbidity_ntu, Kind.TURBIDITY, taste, point, with_unit=False)
        return self._view("cloudiness", tr("NTU"), text, place, tr("Cloudiness"))

    def _card(self) -> ValueView | None:
        place = self._latest("look")
        if place is None or place.event.look is None:
            return None
        return self._view("card", tr("Card"), look_word(place.event.look), place)

    def _active(self) -> ValueView | None:
        place, water = self._latest("ph"), self._latest("water_c")
        if place is None or place.event.ph is None:
            return None
        water_c = USUAL_WATER_C if water is None else water.event.water_c or 0.0
        try:
            share = active_share_pct(place.event.ph, water_c)
        except ChemistryError:
            return None
        hint = tr(
            "Share of the free chlorine that is HOCl at pH {ph} and {water}",
            ph=self._person.show(place.event.ph, Kind.PH),
            water=self._person.show(water_c, Kind.TEMPERATURE),
        )
        text = self._person.show(round(share), Kind.PERCENT)
        return self._view("active", tr("Active"), text, place, hint)

    def _combined(self) -> ValueView | None:
        place = self._latest("total_mg_l")
        if place is None or place.event.total_mg_l is None:
            return None
        free = place.event.fac_mg_l
        if free is None and self._newest is not None:
            free = self._newest.event.fac_mg_l
        if free is None:
            return None
        total = self._person.show(place.event.total_mg_l, Kind.CONCENTRATION)
        text = self._person.show(max(0.0, place.event.total_mg_l - free), Kind.CONCENTRATION)
        hint = tr("Total chlorine {total} less free chlorine", total=total)
        return self._view("combined", tr("Combined"), text, place, hint)

    def _contact(self) -> ValueView | None:
        look = self._causes.get("contact")
        timed = [one.event for one in self._tank.washed if one.event.contact_s is not None]
        if look is None or not timed or timed[-1].contact_s is None:
            return None
        text = self._person.show(timed[-1].contact_s, Kind.CONTACT_TIME)
        when = tr("{time} by {who}", time=clock_words(timed[-1].at), who=timed[-1].by)
        return ValueView(tr("Contact"), text, look, hint=when)

    def _view(self, key: str, name: str, text: str, place: Place, hint: str = "") -> ValueView:
        event = place.event
        when = tr("{time} by {who}", time=clock_words(event.at), who=event.by)
        if key == "ph":
            when = f"{method_word(event.ph_method)}, {when}"
        newest = self._newest
        return ValueView(
            name=name,
            text=text,
            look=self._causes.get(key, Look.IN_LIMITS),
            old=newest is not None and event.at < newest.event.at,
            hint="\n".join(filter(None, (hint, when))),
        )
