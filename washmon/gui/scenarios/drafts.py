"""What a new scenario begins with."""

from datetime import time

from washmon.gui.i18n import tr
from washmon.sessions.practice.scenario import LineChoice, Pace, Scenario
from washmon.sessions.practice.scenario_files import FORMAT, VERSION


def new_draft() -> Scenario:
    """Return a calm shift of two hours on the first practice line; its words are to be written."""
    return Scenario(
        format=FORMAT,
        version=VERSION,
        title="",
        level=1,
        goal="",
        briefing="",
        good=(
            tr("A check before the first batch, and then as often as the set-up asks"),
            tr("No batch washed under the critical low"),
        ),
        line=LineChoice(commodity="leafy_greens", tanks=2),
        pace=Pace(begins=time(6, 0), minutes=120.0, first_batch=30.0, batch_minutes=4.0, seed=1),
    )
