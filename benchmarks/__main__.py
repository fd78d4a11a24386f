"""Print the machine line that stands beside every figure: `python -m benchmarks`."""

from __future__ import annotations

import importlib.metadata
import os
import platform
from pathlib import Path


def processor() -> str:
    """Return the name that the machine gives its processor."""
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.is_file():
        for line in cpuinfo.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def memory_gb() -> float:
    """Return the machine's memory. [GB]"""
    return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1e9


def machine_line() -> str:
    """Return cores, processor, memory and the versions that speed hangs on, in one line."""
    parts = ", ".join(f"{p} {importlib.metadata.version(p)}" for p in ("numpy", "numba", "scipy"))
    return (
        f"{os.cpu_count()} cores, {processor()}, {memory_gb():.0f} GB, "
        f"{platform.system()} {platform.machine()}, Python {platform.python_version()}, {parts}"
    )


if __name__ == "__main__":
    print(machine_line())
