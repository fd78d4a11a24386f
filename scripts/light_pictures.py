"""Draw the light maps of the example farm for the docs.

    python -m scripts.light_pictures [FOLDER]

Years 1, 8, 15 and 30 from the example's own day, in June, into FOLDER (docs/light unless given).
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from datetime import datetime
from pathlib import Path

from browseline.chain import look
from browseline.chain.canopy_page import canopy_seen
from browseline.papers.light_map import light_drawing
from browseline.papers.plan import drawing_png

ROOT = Path(__file__).resolve().parent.parent
FARM = ROOT / "examples" / "fennick-lea"
NOW = datetime.fromisoformat("2025-06-10T07:30-04:00")
YEARS = (1, 8, 15, 30)
MONTH = 6
DOTS = 72.0


def draw(out: Path) -> None:
    """Write one picture a year."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(FARM, Path(place) / FARM.name))
        picture = look(folder, NOW)
        for year in YEARS:
            seen = canopy_seen(picture, year, MONTH)
            if seen is not None:
                png = drawing_png(light_drawing(seen), DOTS)
                (out / f"{FARM.name}-year-{year:02d}.png").write_bytes(png)


def main() -> None:
    """Read the command line and draw."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", nargs="?", type=Path, default=ROOT / "docs" / "light")
    draw(parser.parse_args().folder)


if __name__ == "__main__":
    main()
