"""Wash-line monitor for packing sheds."""

__version__ = "0.1.0"
