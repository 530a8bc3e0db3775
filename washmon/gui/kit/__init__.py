"""Widgets of the Board that draw plain frozen data and know nothing of washing."""
