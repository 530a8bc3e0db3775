"""Writes the licences of all that the program is installed with into one file, for a bundle.

``python -m tests.tools.make_licences FILE``
"""

import re
import sys
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

_NAMED = re.compile(r"(licen[cs]e|copying|notice|authors)", re.IGNORECASE)
_REQUIREMENT = re.compile(r"[A-Za-z0-9._-]+")


def needed(name: str, seen: set[str]) -> Iterator[Distribution]:
    """Yield a package and what it needs, each once; extras and other systems left out."""
    key = re.sub(r"[-_.]+", "-", name).lower()
    if key in seen:
        return
    seen.add(key)
    try:
        found = distribution(name)
    except PackageNotFoundError:  # of another system
        return
    yield found
    for line in found.requires or ():
        if "extra ==" not in line and (match := _REQUIREMENT.match(line)):
            yield from needed(match[0], seen)


def texts(found: Distribution) -> Iterator[str]:
    """Yield the licence of a package as it is named, and the texts that came with it."""
    told = found.metadata
    fields = ("License-Expression", "License")
    named = [str(told[field]).splitlines()[0] for field in fields if told[field]]
    yield f"{told['Name']} {found.version}: {(*named, 'see the text')[0]}"
    for file in found.files or ():
        path = Path(str(found.locate_file(file)))
        if _NAMED.search(file.name) and path.suffix not in {".py", ".pyc"} and path.is_file():
            yield f"--- {file.name}\n{path.read_text('utf-8', 'replace').strip()}"


def main(target: Path) -> None:
    """Write them."""
    parts = [text for one in needed("washmon", set()) for text in (*texts(one), "=" * 72)]
    target.write_text("\n\n".join(parts) + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
