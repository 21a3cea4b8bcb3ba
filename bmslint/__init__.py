"""Validator and linter for the protection settings of lithium battery packs."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.gate.many import judge_files
    from bmslint.judge.finding import Finding, Verdict
    from bmslint.judge.judge import judge as judge_document
    from bmslint.judge.judgement import derive_facts
    from bmslint.judge.pack import load_pack
    from bmslint.settings import read, read_text

__version__ = "0.1.0"

_HOMES = {
    "Facts": "bmslint.facts",
    "Finding": "bmslint.judge.finding",
    "Verdict": "bmslint.judge.finding",
    "derive_facts": "bmslint.judge.judgement",
    "judge_document": "bmslint.judge.judge",
    "judge_files": "bmslint.gate.many",
    "load_pack": "bmslint.judge.pack",
    "read": "bmslint.settings",
    "read_text": "bmslint.settings",
}
"""Where each public name lives; imported when it is first asked for, so that `import bmslint` is cheap."""

__all__ = [
    "Facts",
    "Finding",
    "Verdict",
    "__version__",
    "derive_facts",
    "judge_document",
    "judge_files",
    "load_pack",
    "read",
    "read_text",
]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'bmslint' has no attribute {name!r}")
    from importlib import import_module

    # The name `judge` is taken by the room of that name once anything in it is imported.
    return getattr(import_module(_HOMES[name]), "judge" if name == "judge_document" else name)


def __dir__() -> list[str]:
    return sorted(__all__)
