"""Trends over shifts: control charts, and what each week came to."""
