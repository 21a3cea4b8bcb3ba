"""Findings with one cause, whatever number of files it reaches."""

from test_json import FINDING, HARD, SOFT

from bmslint.output.causes import Cause, Causes

IN_BASE = FINDING._replace(file="base.yaml", severity="review")
WORSE = IN_BASE._replace(severity="reject", message="The coldest cell is at -9.0 degC.")


def test_one_cause_is_told_once_by_its_worst_with_the_files_it_reaches() -> None:
    causes = Causes()
    causes.add("a.yaml", (IN_BASE, SOFT._replace(file="a.yaml")))
    causes.add("b.yaml", (WORSE, WORSE))
    causes.add("c.yaml", (IN_BASE, HARD._replace(file="c.yaml")))
    assert causes.found() == [
        Cause(WORSE, "b.yaml", ("a.yaml", "b.yaml", "c.yaml"), 0, True),
        Cause(HARD._replace(file="c.yaml"), "c.yaml", ("c.yaml",), 0, False),
        Cause(SOFT._replace(file="a.yaml"), "a.yaml", ("a.yaml",), 0, False),
    ]
    assert [each.reach() for each in causes.found()] == [3, 1, 1]


def test_another_place_rule_or_setting_is_another_cause() -> None:
    others = [
        IN_BASE._replace(line=6),
        IN_BASE._replace(column=1),
        IN_BASE._replace(rule="other"),
        IN_BASE._replace(path="other"),
        IN_BASE._replace(file="other.yaml"),
    ]
    causes = Causes()
    causes.add("a.yaml", (IN_BASE, *others))
    assert len(causes.found()) == 6


def test_what_is_kept_is_bounded_and_the_rest_is_counted() -> None:
    causes = Causes(most=2, most_files=2)
    for number in range(5):
        file = f"{number}.yaml"
        causes.add(file, (IN_BASE, FINDING._replace(file=file), SOFT._replace(file=file)))
    assert causes.found() == [
        Cause(FINDING._replace(file="0.yaml"), "0.yaml", ("0.yaml",), 0, False),
        Cause(FINDING._replace(file="1.yaml"), "1.yaml", ("1.yaml",), 0, False),
        Cause(IN_BASE, "0.yaml", ("0.yaml", "1.yaml"), 3, False),
        Cause(SOFT._replace(file="0.yaml"), "0.yaml", ("0.yaml",), 0, False),
    ]
    assert causes.left_out == 3 + 4
