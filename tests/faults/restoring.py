"""A child that restores a backup, and dies at one of its calls to the disk."""

import os
import pathlib
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from washmon.store import backups

DIED = 9
COUNTED = {
    os: ("replace", "rename", "unlink", "open", "fsync", "link"),
    shutil: ("copyfile",),
    pathlib.Path: ("replace", "unlink", "open", "exists"),
}


def restore_and_die(backup: Path, target: Path, calls: int) -> None:
    """Restore a backup in a process of its own, which dies after so many calls to the disk."""
    left = [calls]

    def counting(real: Callable[..., object]) -> Callable[..., object]:
        def call(*words: object, **named: object) -> object:
            left[0] -= 1
            if left[0] < 0:
                os._exit(DIED)
            return real(*words, **named)

        return call

    for module, names in COUNTED.items():
        for name in names:
            setattr(module, name, counting(getattr(module, name)))
    backups.restore(backup, target, datetime(2026, 6, 1, tzinfo=UTC))
