"""Folders of rules that installed packages offer.

A package offers a folder under the entry point group `bmslint.rules`; the value is the dotted name of the
package that is the folder, such as `acme_rules` or `acme.battery_rules`. The folder is found without
importing the package, as a pack is data and runs no code.

Looked for only when asked, by `--installed-rules`: to install a package must not change a verdict, and
looking takes 160 ms or more, most of it for the import of the library that lists what is installed.
"""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

from bmslint.judge.faults import PackProblem

GROUP = "bmslint.rules"
_DOTTED = re.compile(r"[A-Za-z_]\w*(\.[A-Za-z_]\w*)*\Z")


def installed_folders(problems: list[PackProblem]) -> list[tuple[str, Path]]:
    """Find what installed packages offer.

    Args:
        problems: collects entry points that lead to no folder.

    Returns:
        What to call each folder, and where it lies.
    """
    from importlib.metadata import entry_points

    found = []
    for each in entry_points(group=GROUP):
        name = f"installed {each.name}"
        folders = _folders(each.value) if _DOTTED.match(each.value) else []
        if not folders:
            what = f"no folder {each.value!r}; the entry point names a package, with dots, without a colon"
            problems.append(PackProblem(name, 1, 1, what))
        found += [(name, folder) for folder in folders]
    return found


def _folders(dotted: str) -> list[Path]:
    """The places of a package; only the outermost is asked for, as an import would run its code."""
    top, *below = dotted.split(".")
    try:
        spec = find_spec(top)
    except (ImportError, ValueError):
        return []
    places = (spec.submodule_search_locations or ()) if spec is not None else ()
    return [folder for place in places if (folder := Path(place, *below)).is_dir()]
