"""JUnit XML as the package junitparser reads it, and against what the same run says as JSON."""

import io
import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from junitparser import Error, Failure, JUnitXml, Skipped
from test_json import ENTRIES, FINDING, PACK, REJECTED, SOFT, UNUSABLE

from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.judge.finding import Severity, Verdict
from bmslint.judge.judge import judge
from bmslint.judge.pack import Pack, load_pack
from bmslint.output.junit import JunitWriter
from bmslint.output.words import CAUTION
from bmslint.output.writers import Run
from bmslint.settings import read


def junit(*verdicts: Verdict, fail_on: Severity = "reject") -> str:
    page = io.StringIO()
    writer = JunitWriter(page, Run(PACK, len(verdicts), fail_on, Path()))
    for each in verdicts:
        writer.add(each)
    writer.end()
    return page.getvalue()


def test_a_whole_document() -> None:
    verdict = REJECTED._replace(findings=(FINDING, SOFT._replace(path="a.b")), accepted=ENTRIES[:1])
    assert (
        junit(UNUSABLE, verdict)
        == f"""\
<?xml version="1.0" encoding="UTF-8"?>
<testsuites name="bmslint">
  <testsuite name="a.yaml" tests="1" failures="0" errors="1" skipped="0" time="0">
    <properties>
      <property name="verdict" value="unusable" />
      <property name="rules that do not apply" value="0" />
      <property name="caution" value="{CAUTION}" />
    </properties>
    <testcase classname="a.yaml" name="can be used: a.yaml:3:7" time="0">
      <error message="expected a whole number, came the text &quot;eight&quot;; write 8" type="unusable">\
a.yaml:3:7: pack.series: expected a whole number, came the text "eight"; write 8</error>
    </testcase>
  </testsuite>
  <testsuite name="b.yaml" tests="5" failures="1" errors="0" skipped="1" time="0">
    <properties>
      <property name="verdict" value="rejected" />
      <property name="rules that do not apply" value="1" />
      <property name="caution" value="{CAUTION}" />
    </properties>
    <testcase classname="b.yaml" name="cold: protection.charge_cold.release_above_degC" time="0">
      <failure message="The coldest cell is at -4.3 degC." type="reject">Released too cold
b.yaml:5:79: protection.charge_cold.release_above_degC
The coldest cell is at -4.3 degC.
Why: Because.
To do: Mend it.</failure>
    </testcase>
    <testcase classname="b.yaml" name="soft: a.b" time="0">
      <system-out>review, which does not fail this run
Soft
b.yaml:5:79: a.b
The coldest cell is at -4.3 degC.
Why: Because.
To do: Mend it.</system-out>
    </testcase>
    <testcase classname="b.yaml" name="soft: protection.charge_cold.release_above_degC" time="0">
      <system-out>review, taken on by site engineer until 2027-03-31: winter lay-up
Soft
b.yaml:5:79: protection.charge_cold.release_above_degC
The coldest cell is at -4.3 degC.
Why: Because.
To do: Mend it.</system-out>
    </testcase>
    <testcase classname="b.yaml" name="warm" time="0">
      <skipped message="not judged, which is not passed (review); add site.hottest_degC" />
    </testcase>
    <testcase classname="b.yaml" name="x" time="0" />
  </testsuite>
</testsuites>
"""
    )


@pytest.mark.parametrize(("fail_on", "failures"), [("reject", 1), ("review", 2), ("note", 2)])
def test_what_fails_the_run_is_a_failure(fail_on: Severity, failures: int) -> None:
    (suite,) = JUnitXml.fromstring(junit(Verdict("b", "rejected", (FINDING, SOFT)), fail_on=fail_on).encode())
    assert (suite.tests, suite.failures) == (2, failures)


def test_a_real_run_is_read_as_json_tells_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each suite as junitparser reads it, and its counts as junitparser counts them anew."""
    profiles = rules_dir().parent / "profiles"
    for name in ("ridge-hut", "failing/fahrenheit-release", "failing/heater-stops-early"):
        text = (profiles / f"{name}.yaml").read_text(encoding="utf-8")
        (tmp_path / f"{Path(name).name}.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "small.yaml").write_text("format: 1\npack: {chemistry: lfp, series: 8}\n")
    (tmp_path / "broken.yaml").write_text("format: 1\npack: {chemistry: lfp, series: eight}\n")
    monkeypatch.chdir(tmp_path)
    main(["check", ".", "--write", "junit=run.xml", "--write", "json=run.json"])
    document = JUnitXml.fromfile("run.xml")
    told = []
    for suite in document:
        results = [(type(one), one.message) for case in suite for one in case.result]
        passed = sorted(case.name for case in suite if not case.result and not case.system_out)
        told.append((suite.name, results, passed))
        counted = (suite.tests, suite.failures, suite.errors, suite.skipped)
        suite.update_statistics()
        assert (suite.tests, suite.failures, suite.errors, suite.skipped) == counted
    pack = load_pack()
    assert told == [expected(file, pack) for file in json.loads(Path("run.json").read_bytes())["files"]]
    assert {kind for _, results, _ in told for kind, _ in results} == {Error, Failure, Skipped}


def expected(file: dict[str, Any], pack: Pack) -> tuple[str, list[tuple[type, str]], list[str]]:
    results: list[tuple[type, str]] = [
        (
            Error,
            f"expected {one['expected']}, came {one['came']}"
            + (f"; {one['advice']}" if one["advice"] else ""),
        )
        for one in file["errors"]
    ]
    results += [(Failure, one["message"]) for one in file["findings"] if one["severity"] == "reject"]
    results += [
        (
            Skipped,
            f"not judged, which is not passed ({one['severity']}); add {', '.join(one['missing'])}",
        )
        for one in file["not_judged"]
    ]
    return file["file"], results, passed_of(file, pack)


def passed_of(file: dict[str, Any], pack: Pack) -> list[str]:
    """The rules that passed, from the judge itself: JSON only counts them."""
    if file["errors"]:
        return []
    outcomes = judge(read(file["file"]), pack).outcomes
    passed = sorted(name for name, outcome in outcomes.items() if outcome.state == "passed")
    assert len(passed) == file["counts"]["passed"]
    return passed


ANY_TEXT = st.text(st.characters(codec=None), max_size=30)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(ANY_TEXT, ANY_TEXT, ANY_TEXT)
def test_any_text_makes_xml_that_can_be_read(file: str, path: str, message: str) -> None:
    """Lone surrogates, control characters and what XML 1.0 cannot hold at all; read by expat."""
    spoilt = FINDING._replace(path=path, message=message)
    text = junit(Verdict(file, "rejected", (spoilt, SOFT._replace(title=message))))
    root = ElementTree.fromstring(text.encode("utf-8"))
    (suite,) = root
    assert [case.tag for case in suite] == ["properties", "testcase", "testcase"]
    assert suite.get("failures") == "1"
