"""The ways between the rooms: each makes its page, opens it, and knows where it leads."""

from washmon.gui.navigator.navigator import Navigator

__all__ = ["Navigator"]
