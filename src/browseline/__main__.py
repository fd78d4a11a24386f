"""Run the command line as ``python -m browseline``."""

from browseline.cli import main

if __name__ == "__main__":
    main()
