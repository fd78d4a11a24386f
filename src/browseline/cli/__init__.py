"""The command line: one verb an arrow or an entry, each imported when it is asked for."""

from __future__ import annotations

from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status: 1 if something is to be mended.

    Parameters
    ----------
    argv : sequence of str, optional
        The words after ``browseline``; by default those of this process.
    """
    from browseline.cli.lifetime import soon_over

    soon_over()
    from browseline.cli.group import app

    app(args=list(argv) if argv is not None else None, prog_name="browseline")
