"""``python -m tests``: every test on all cores, then the benchmarks by themselves.

Benchmarks compare times that are taken in the same run; beside other tests they would measure
those.
"""

import sys

import pytest


def main() -> int:
    """Run both parts and return 0 if nothing failed."""
    shared = ["-n", "auto", "--dist", "loadgroup", "-m", "not benchmark_ratio"]
    everything = pytest.main([*shared, *sys.argv[1:]])
    benchmarks = pytest.main(["-n", "0", "-m", "benchmark_ratio", *sys.argv[1:]])
    return int(everything) or int(benchmarks)


if __name__ == "__main__":
    raise SystemExit(main())
