"""Lasts broken in every way that scanners and programs break them, by name.

As a program it writes them all: `python broken.py LAST.obj FOLDER`, with `list.txt` beside, which
tells of each what it is and what must come of it. LAST.obj is the last of the checks
(`build_last LAST.obj sll=260 heel=25 radius=0 edge=3.5 foot=right`).
"""

import argparse
import pathlib

import trimesh

import broken_around  # noqa: F401
import broken_edges  # noqa: F401
import broken_holes  # noqa: F401
import broken_numbers  # noqa: F401
import broken_shells  # noqa: F401
from broken_form import CASES

# The measures of the last that is broken: invented, closed, with a flat top.
LAST = ("sll=260", "heel=25", "radius=0", "edge=3.5", "foot=right")


def told(case):
    """One line for the list."""
    about = (case.way.__doc__ or case.way.__name__.replace("_", " ")).strip().splitlines()[0]
    how = ", ".join(f"{name} {value}" for name, value in case.how.items())
    return f"{case.file_name}\t{about} ({how})\t{case.expected}"


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("last", type=pathlib.Path)
    words.add_argument("folder", type=pathlib.Path)
    words.add_argument("names", nargs="*", help="only these")
    words = words.parse_args()
    words.folder.mkdir(parents=True, exist_ok=True)
    last = trimesh.load(words.last, process=False)
    lines = []
    for case in CASES:
        if words.names and case.name not in words.names:
            continue
        (words.folder / case.file_name).write_bytes(case.bytes(case.broken(last)))
        lines.append(told(case))
    (words.folder / "list.txt").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
