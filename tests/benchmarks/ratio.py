"""Tries a measurement again where the machine was busy with something else."""

from collections.abc import Iterable, Iterator

TRIES = 3


def until_under(limit: float, ratios: Iterable[float]) -> Iterator[float]:
    """Yield ratios until one is under the limit; each is measured when it is asked for."""
    for ratio in ratios:
        yield ratio
        if ratio < limit:
            return
