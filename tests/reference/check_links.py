#!/usr/bin/python3
"""Every relative link and picture of README.md, DEVELOPERS.md and docs/ leads to a file; every docs/NAME.md that is
named in running text is there."""
import pathlib
import re
import sys


def main(root):
    root = pathlib.Path(root)
    pages = [root / "README.md", root / "DEVELOPERS.md", *sorted((root / "docs").rglob("*.md"))]
    problems, links = [], 0
    for page in pages:
        text = page.read_text(encoding="utf-8")
        targets = [(page.parent / t) for t in re.findall(r"\]\(([^)#\s:]+)(?:#[^)]*)?\)", text)]
        targets += [root / t for t in re.findall(r"\bdocs/[\w./-]+\.md\b", text)]
        links += len(targets)
        problems += [f"{page.relative_to(root)}: no such file: {t}" for t in targets if not t.exists()]
    if links < 20:
        problems.append(f"only {links} links found: are these the pages?")
    print("\n".join(problems) or f"{links} links, all lead somewhere")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
