"""``python -m washmon``."""

from washmon.cli import main

if __name__ == "__main__":
    main()
