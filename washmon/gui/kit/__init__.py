"""Widgets of the Board that draw plain frozen data and know nothing of washing.

theme and text hold the look; state_mark, level_scale, trend and card show; buttons, number_pad,
entry_sheet and form take entries; message_line and confirm talk back.
"""
