"""Writes RELATIONS.md: every relation with its validity, source and outside check, and what facts rest on.

python tests/relations/write.py
"""

from pathlib import Path

from named_checks import Check
from outside_checks import GROUPS, HELD
from public_docstrings import Documented, modules, public

PAGE = Path(__file__).with_name("RELATIONS.md")
HEAD = """\
# Relations, their sources, and what they are checked against

Written by `python tests/relations/write.py` from the docstrings and from `tests/relations/outside_checks.py`;
do not edit it by hand. *Outside* is a check against an exact solution, a handbook, another library, published
data, common practice, or a solution written for the tests with other methods; *limit* is a case of which the
answer is plain beforehand; *otherwise* are values by hand, laws and runs of our own. Tests are named below
`tests/`.
"""


def relations() -> list[Documented]:
    """Give every relation: in physics what states a source, in facts the modules that do."""
    found = [item for item in public("bmslint/physics") if "Source" in item.sections]
    return found + [module for module in modules("bmslint/facts") if "Source" in module.sections]


def page() -> str:
    """Write the whole page."""
    lines, file = [HEAD, "## Fact groups", ""], ""
    lines += [f"- `{group}`: " + ", ".join(f"`{each}`" for each in rests) for group, rests in GROUPS.items()]
    for item in relations():
        if item.path != file:
            file = item.path
            lines += ["", f"## `{file}`"]
        lines += ["", f"### `{item.key}`", "", item.first, ""]
        lines += [f"- {part}: {item.line(part)}" for part in ("Validity", "Source") if item.line(part)]
        held = HELD[item.key]
        lines += _checks("Outside", held.outside) + _checks("Limit", held.limit)
        lines += _checks("Otherwise", held.otherwise)
    return "\n".join(lines) + "\n"


def _checks(title: str, checks: tuple[Check, ...]) -> list[str]:
    return [f"- {title}: {against} (`{test}`)" for test, against in checks]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
