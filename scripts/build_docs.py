"""Write the pages as HTML to build/docs, with the coefficients and sources the program reads.

python -m scripts.build_docs
"""

from __future__ import annotations

import csv
import html
import re
import shutil
import sys
from pathlib import Path

from markdown_it import MarkdownIt

ROOT = Path(__file__).resolve().parent.parent
DATA = ROOT / "src" / "browseline" / "data"
OUT = ROOT / "build" / "docs"
AT_ROOT = ("README.md", "CONTRIBUTING.md", "CHANGELOG.md")
PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{title}</title><style>
body {{ max-width: 52rem; margin: 2rem auto; padding: 0 1rem; font: 1.05rem/1.5 serif; }}
table {{ border-collapse: collapse; }} td, th {{ border: 1px solid; padding: .2rem .5rem; text-align: left; }}
pre {{ overflow-x: auto; }}
</style></head><body>
<p><a href="{up}docs/index.html">All pages</a></p>
{body}
</body></html>
"""


def pages() -> list[Path]:
    """Return every Markdown page, the ones at the root first."""
    return [ROOT / name for name in AT_ROOT] + sorted((ROOT / "docs").rglob("*.md"))


def links(page: Path) -> list[str]:
    """Return the relative links of a page."""
    found = re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8"))
    return [link.partition("#")[0] for link in found if "://" not in link and not link.startswith("#")]


def broken_links() -> list[str]:
    """Return each relative link that leads nowhere, with its page."""
    return [
        f"{page.relative_to(ROOT)}: {link}"
        for page in pages()
        for link in links(page)
        if not (page.parent / link).exists()
    ]


def write(name: str, title: str, body: str) -> None:
    """Write one page below build/docs."""
    path = OUT / name
    path.parent.mkdir(parents=True, exist_ok=True)
    up = "../" * name.count("/")
    path.write_text(PAGE.format(title=html.escape(title), up=up, body=body), encoding="utf-8")


def table_as_html(path: Path) -> str:
    """Return a CSV file as an HTML table."""
    with path.open(encoding="utf-8", newline="") as lines:
        header, *rows = csv.reader(lines)
    head = "".join(f"<th>{html.escape(cell)}</th>" for cell in header)
    body = "".join(
        "<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>\n" for row in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}</tbody></table>"


def main() -> int:
    """Write all pages; return 1 if a link leads nowhere."""
    shutil.rmtree(OUT, ignore_errors=True)
    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    for page in pages():
        name = page.relative_to(ROOT).with_suffix(".html").as_posix()
        body = re.sub(
            r'href="([^":]+)\.md(#[^"]*)?"', r'href="\1.html\2"', markdown.render(page.read_text("utf-8"))
        )
        write(name, page.stem, body)
    shutil.copy(ROOT / "LICENSE", OUT / "LICENSE")
    tables = sorted(path for path in DATA.glob("*.csv") if path.stem != "sources")
    body = "".join(f"<h2>{path.stem}</h2>\n{table_as_html(path)}\n" for path in tables)
    write("docs/coefficients.html", "Coefficients", f"<h1>Coefficients</h1>\n{body}")
    write("docs/sources.html", "Sources", f"<h1>Sources</h1>\n{table_as_html(DATA / 'sources.csv')}")
    broken = broken_links()
    print(f"{len(list(OUT.rglob('*.html')))} pages in {OUT.relative_to(ROOT)}, the first is docs/index.html")
    if broken:
        print("These links lead nowhere:", *broken, sep="\n  ", file=sys.stderr)
    return int(bool(broken))


if __name__ == "__main__":
    sys.exit(main())
