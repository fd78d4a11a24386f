"""How long the command line takes before it says anything."""

from __future__ import annotations

import subprocess
import sys


class StartUp:
    """A new process each time, as a person starts it. Bar for help: 0.3 s."""

    timeout = 60.0

    def time_help(self) -> None:
        subprocess.run([sys.executable, "-m", "browseline", "--help"], check=True, capture_output=True)

    def time_import(self) -> None:
        subprocess.run([sys.executable, "-c", "import browseline"], check=True, capture_output=True)
