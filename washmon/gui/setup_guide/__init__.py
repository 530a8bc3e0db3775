"""The guide that describes a wash line, for the first start and for later changes."""

from washmon.gui.setup_guide.guide import SetupGuide

__all__ = ["SetupGuide"]
