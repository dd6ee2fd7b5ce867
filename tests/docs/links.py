"""Follows every link within the project's pages, to files and to headings.

    links.py PROJECT
"""

import re
import sys
from pathlib import Path

project = Path(sys.argv[1]).resolve()
n = 0
faults = []


def headings(page):
    """Anchors as the usual renderers make them."""
    text = re.sub(r"^```.*?^```", "", page.read_text("utf-8"), flags=re.M | re.S)
    return {re.sub(r"[^\w\- ]", "", h.lower()).strip().replace(" ", "-") for h in re.findall(r"^#+ (.*)$", text, re.M)}


for page in [project / "README.md", project / "DEVELOPERS.md", *project.glob("docs/**/*.md"), *project.glob("tests/**/*.md")]:
    if "node_modules" in page.parts:
        continue
    text = re.sub(r"^```.*?^```|`[^`]*`", "", page.read_text("utf-8"), flags=re.M | re.S)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"[a-z]+:", target):
            continue
        n += 1
        path, _, anchor = target.partition("#")
        there = (page.parent / path).resolve() if path else page
        if not there.exists():
            faults.append(f"{page.relative_to(project)}: there is no {target}")
        elif anchor and anchor not in headings(there):
            faults.append(f"{page.relative_to(project)}: no heading {target}")
for page in project.glob("docs/*.md"):
    if page.name != "README.md" and f"({page.name})" not in (project / "docs/README.md").read_text("utf-8"):
        faults.append(f"docs/README.md does not name {page.name}")
print("\n".join(faults) or f"{n} links lead somewhere")
sys.exit(bool(faults) or n < 10)
