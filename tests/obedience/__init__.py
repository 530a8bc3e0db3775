"""The obedient supervisor: shifts in random worlds, run by doing exactly what the Board says.

The worlds share no model with the forecast or with what advises: water, produce, products, hands
and instruments are their own, and differ in kind from one world to the next.
"""
