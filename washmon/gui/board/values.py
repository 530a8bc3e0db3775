"""The small values of a panel, and which of them cause the tank's state."""

from collections.abc import Iterable

from washmon.chemistry.checks import ChemistryError
from washmon.gui.board.board_words import DASH, clock_words, look_word, method_word
from washmon.gui.board.panel_views import ValueView
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.line.events import ReadingTaken
from washmon.line.flags import Flag, Level
from washmon.line.quantities import BY_FIELD, QUANTITIES, Quantity
from washmon.line.state import Placed, TankState
from washmon.rules.chlorine import active_share_pct
from washmon.units import Kind, show

USUAL_WATER_C = 20.0
"""Stands in for a water temperature that was not measured."""

CAUSES = {
    "chlorine-critical": ("free",),
    "chlorine-low": ("free",),
    "chlorine-high": ("free",),
    "chlorine-label": ("free", "total_mg_l"),
    "label-by-dose": ("free",),
    "ph-high": ("ph", "active"),
    "ph-low": ("ph",),
    "ph-gas": ("ph", "free"),
    "paa-critical": ("free",),
    "paa-low": ("free",),
    "paa-high": ("free",),
    "paa-limit": ("free",),
    "peroxide-limit": ("peroxide_mg_l",),
    "cloudy": ("turbidity_ntu", "look"),
    "water-too-cold": ("water_c", "pulp_c"),
    "contact-short": ("contact",),
    "batches": ("facts",),
    "hours": ("facts",),
    "overdue": ("age",),
    "first-reading": ("age",),
    "check-after-adding": ("age",),
}
"""By rule: what on the panel shows the reason for its flag; small values by their field."""

Place = Placed[ReadingTaken]
_SMALL = tuple(one for one in QUANTITIES if not one.is_level)


def causing(flags: Iterable[Flag]) -> dict[str, MarkState]:
    """Return the worst state that each thing on a panel causes."""
    worst: dict[str, Level] = {}
    for flag in flags:
        for name in CAUSES.get(flag.rule, ()):
            if name not in worst or flag.level.rank > worst[name].rank:
                worst[name] = flag.level
    return {name: MarkState(level.value) for name, level in worst.items()}


class Values:
    """Writes the small values of the water that is in a tank now."""

    def __init__(self, tank: TankState, causes: dict[str, MarkState], person: UserContext) -> None:
        self._tank = tank
        self._fill = tank.fill
        self._causes = causes
        self._person = person
        self._newest = self._latest(tank.spec.level_field)

    def views(self) -> tuple[ValueView, ...]:
        """Return pH of chlorine always, others where measured, contact where it is short."""
        chlorine = self._tank.spec.peracetic is None
        dash = ValueView(tr("pH"), DASH, hint=tr("Not measured in this fill"))
        others = sorted((one for one in _SMALL if one.field != "ph"), key=lambda one: one.seldom)
        found = (
            self._small(BY_FIELD["ph"]) or (dash if chlorine else None),
            self._active() if chlorine else None,
            *(self._small(one) for one in others if not one.seldom),
            self._contact(),
            *(self._small(one) for one in others if one.seldom),
        )
        return tuple(view for view in found if view is not None)

    def _latest(self, field: str) -> Place | None:
        return None if self._fill is None else self._fill.latest(field)

    def _small(self, one: Quantity) -> ValueView | None:
        place = self._latest(one.field)
        if place is None:
            return None
        match one.field:
            case "turbidity_ntu":
                return self._turbidity(place)
            case "look":
                return self._card(place)
            case "total_mg_l":
                return self._combined(place)
        value = float(getattr(place.event, one.field))
        text = self._person.show(value, one.kind) if one.kind is not None else str(value)
        return self._view(one.field, tr(one.short), text, place)

    def _turbidity(self, place: Place) -> ValueView | None:
        if place.event.turbidity_ntu is None:
            return None
        taste, point = self._person.taste, self._person.decimal_point
        text = show(place.event.turbidity_ntu, Kind.TURBIDITY, taste, point, with_unit=False)
        return self._view("turbidity_ntu", tr("NTU"), text, place, tr("Cloudiness"))

    def _card(self, place: Place) -> ValueView | None:
        if place.event.look is None:
            return None
        return self._view("look", tr("Card"), look_word(place.event.look), place)

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

    def _combined(self, place: Place) -> ValueView | None:
        if place.event.total_mg_l is None:
            return None
        free = place.event.fac_mg_l
        if free is None and self._newest is not None:
            free = self._newest.event.fac_mg_l
        if free is None:
            return None
        total = self._person.show(place.event.total_mg_l, Kind.CONCENTRATION)
        text = self._person.show(max(0.0, place.event.total_mg_l - free), Kind.CONCENTRATION)
        hint = tr("Total chlorine {total} less free chlorine", total=total)
        return self._view("total_mg_l", tr("Combined"), text, place, hint)

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
            look=self._causes.get(key, MarkState.IN_LIMITS),
            old=newest is not None and event.at < newest.event.at,
            hint="\n".join(filter(None, (hint, when))),
        )
