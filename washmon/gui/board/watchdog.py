"""What the Board says once the recorder has been silent for too long."""

from msgspec.structs import replace

from washmon.gui.board.panel_views import BannerView, BoardView
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import Look
from washmon.recorder import TICK_S

SILENT_S = 3 * TICK_S
"""Three looks of the recorder at the clock were missed."""


def not_current(view: BoardView, silent_s: float) -> BoardView:
    """Return the Board as it is shown when nothing new has come for a while, in every panel."""
    if silent_s <= SILENT_S or not view.panels:
        return view
    said = tr(
        "Not current: nothing new for {seconds} s. The program waits for its records. Go by your "
        "own readings, and by the limits of the tanks.",
        seconds=round(silent_s),
    )
    panels = tuple(replace(one, look=Look.UNKNOWN, state=tr("Not current")) for one in view.panels)
    return replace(view, panels=panels, banners=(BannerView(said, Look.STOP), *view.banners))
