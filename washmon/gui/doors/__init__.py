"""The doors between the rooms: each makes its page, opens it, and knows where it leads."""

from washmon.gui.doors.doors import Doors

__all__ = ["Doors"]
