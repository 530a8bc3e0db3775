"""One plan per tank, from all that was found and is predicted of it.

Rules find what is so; the planner decides what is done about it. It weighs the few things that a
person can do by what each is predicted to bring. Limits that guard people, then label and law, then
the produce come first; then the least work. Pure: a plan is a function of state, findings,
forecast, set-up and time.
"""
