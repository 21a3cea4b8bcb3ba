"""Input that would take all memory, all time, or all of the stack."""

import pytest

from bmslint.settings import read_text

NESTING = "expected at most 40 levels of nesting, came more; is it the right file?"
NODES = (
    "expected at most 100000 keys and values, aliases written out, came more;"
    " write values out instead of nesting aliases"
)


def doubling(levels: int) -> str:
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, levels)]
    return "\n".join(lines)


def merging(levels: int) -> str:
    lines = ["a0: &a0 {k: 1}"]
    lines += [f"a{n}: &a{n} {{<<: [*a{n - 1}, *a{n - 1}]}}" for n in range(1, levels)]
    return "\n".join(lines)


HUGE = {
    "brackets": ("[" * 200_000, (1, 41, NESTING)),
    "braces": ("{a: " * 200_000, (1, 161, NESTING)),
    "dashes": ("- " * 200_000, (1, 81, NESTING)),
    "question marks": ("? " * 200_000, (1, 81, NESTING)),
    "many items": ("[" + "1," * 100_001 + "]", (1, 200_000, NODES)),
    "doubled aliases": (doubling(30), (1, 10, NODES)),
    "doubled merges": (merging(30), (1, 5, NODES)),
    "merges of nothing": (
        "e: &e {}\nm: &m {<<: ["
        + "*e," * 30_000
        + "]}\n"
        + "\n".join(f"k{n}: {{<<: *m}}" for n in range(9_000)),
        (1, 4, NODES),
    ),
    "merges in a chain": (
        "a0: &a0 {k: 1}\n" + "\n".join(f"a{n}: &a{n} {{<<: *a{n - 1}}}" for n in range(1, 5_000)),
        (1, 5, NESTING),
    ),
    "deep through aliases": (
        "a0: &a0 [1]\n" + "\n".join(f"a{n}: &a{n} [*a{n - 1}]" for n in range(1, 100)),
        (1, 5, NESTING),
    ),
}


@pytest.mark.parametrize("name", HUGE)
def test_refused_with_its_place(name: str) -> None:
    text, (line, column, message) = HUGE[name]
    (problem,) = read_text(text, "file.yaml").problems
    assert (problem.line, problem.column, problem.message) == (line, column, message)


def test_a_text_of_two_mebibytes_is_told_short() -> None:
    (problem, *_) = read_text("title: " + "x" * 2_000_000, "file.yaml").problems
    assert problem.message.startswith("expected")


def test_many_unknown_keys_are_all_told() -> None:
    text = "format: 1\npack: {chemistry: lfp, series: 8}\n" + "".join(f"k{n}: 1\n" for n in range(20_000))
    problems = read_text(text, "file.yaml").problems
    assert [(p.line, p.path) for p in problems] == [(n + 3, f"k{n}") for n in range(20_000)]
