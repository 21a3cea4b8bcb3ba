"""Settings files of a revision are read through git, and nothing that the repository brings is run."""

import os
from pathlib import Path

import pytest
from repositories import commit, git, repository

from bmslint.gate.find import find_settings
from bmslint.gate.git import RevisionError
from bmslint.gate.patterns import Exclusion
from bmslint.gate.revision import Revision
from bmslint.settings import Document, read
from bmslint.settings.tree import MAX_BYTES

BASE = "format: 1\npack: {chemistry: lfp, series: 8}\nsite: {coldest_degC: -20}\n"
OVER = "format: 1\nextends: ../base/hut.yaml\npack: {series: 16}\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    made = repository(tmp_path / "r")
    monkeypatch.chdir(made)
    return made


def problems(document: Document) -> list[str]:
    assert document.data == {}
    return [f"{each.file}:{each.line}:{each.column}: {each.message}" for each in document.problems]


def test_bases_are_read_from_the_same_revision(folder: Path) -> None:
    first = commit(folder, {"base/hut.yaml": BASE, "site/over.yaml": OVER})
    commit(folder, {"base/hut.yaml": BASE.replace("-20", "-30")})
    (folder / "base" / "hut.yaml").write_text(BASE.replace("-20", "-40"), encoding="utf-8")
    seen = []
    for name in (first, "HEAD"):
        with Revision(name) as revision:
            document = read("site/over.yaml", revision)
            assert document.problems == ()
            seen.append((document.data["site"], document.position("site.coldest_degC")))
    disk = read("site/over.yaml")
    assert seen == [
        ({"coldest_degC": -20.0}, ("base/hut.yaml", 3, 22)),
        ({"coldest_degC": -30.0}, ("base/hut.yaml", 3, 22)),
    ]
    assert disk.data["site"] == {"coldest_degC": -40.0}


def test_the_same_files_are_found_as_on_the_disk(folder: Path) -> None:
    (folder / "b").mkdir()
    (folder / "a").mkdir()
    (folder / "a" / "linked.yaml").symlink_to("../b/real.yaml")
    (folder / "a" / "nowhere.yaml").symlink_to("../b/gone.yaml")
    (folder / "a" / "folder").symlink_to("../elsewhere")
    (folder / "a" / "same").symlink_to("deep")
    commit(
        folder,
        {
            "b/real.yaml": BASE,
            "a/deep/x.yml": BASE,
            "a/deep/j.json": '{"format": 1}',
            "a/notes.txt": BASE,
            "a/other.yaml": "kind: another\n",
            "a/drafts/d.yaml": BASE,
            "elsewhere/e.yaml": BASE,
            "a/with space \u00e4.yaml": BASE,
        },
    )
    for names, exclusions in (
        (["a"], []),
        (["."], []),
        (["a", "b/real.yaml"], [Exclusion("a/drafts", Path())]),
        (["a/deep/x.yml"], [Exclusion("**/*", Path())]),
    ):
        on_disk = [str(path) for path in find_settings(names, exclusions).files]
        with Revision("HEAD") as revision:
            in_revision = [str(path) for path in revision.find_settings(names, exclusions)]
        assert in_revision == on_disk
        assert on_disk


def test_paths_are_those_of_the_working_folder(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    commit(folder, {"base/hut.yaml": BASE, "site/over.yaml": OVER})
    monkeypatch.chdir(folder / "site")
    with Revision("main") as revision:
        assert [str(each) for each in revision.find_settings(["."])] == ["over.yaml"]
        assert [str(each) for each in revision.find_settings(["..", "over.yaml"])] == [
            "../base/hut.yaml",
            "../site/over.yaml",
            "over.yaml",
        ]
        assert revision.load(folder / "base" / "hut.yaml", "x") == BASE.encode()
        assert read("over.yaml", revision).data["site"] == {"coldest_degC": -20.0}


def test_nothing_of_the_repository_is_run_and_bytes_are_those_committed(folder: Path, tmp_path: Path) -> None:
    """A filter, a text conversion, a file monitor, hooks and a pager of its own would leave a mark."""
    commit(folder, {"a.yaml": BASE})
    mark = tmp_path / "was-run"
    script = tmp_path / "program"
    script.write_text(f"#!/bin/sh\ntouch {mark}\ncat\n", encoding="utf-8")
    script.chmod(0o755)
    hooks = folder / "hooks"
    hooks.mkdir()
    for hook in ("post-checkout", "pre-commit", "reference-transaction", "post-index-change"):
        (hooks / hook).symlink_to(script)
    for key in (
        "filter.mine.smudge", "filter.mine.clean", "diff.mine.textconv", "core.fsmonitor", "core.pager",
        "pager.ls-tree", "pager.cat-file", "alias.ls-tree", "core.sshCommand", "core.askPass",
    ):  # fmt: skip
        git(folder, "config", key, str(script))
    git(folder, "config", "core.hooksPath", str(hooks))
    git(folder, "config", "core.autocrlf", "true")
    attributes = "*.yaml filter=mine diff=mine export-subst text eol=crlf\n"
    (folder / ".gitattributes").write_text(attributes, encoding="utf-8")
    before = sorted(os.walk(folder))
    with Revision("HEAD") as revision:
        assert revision.find_settings(["."]) == [Path("a.yaml")]
        assert revision.load(Path("a.yaml"), "a.yaml") == BASE.encode()
    assert not mark.exists()
    assert sorted(os.walk(folder)) == before
    git(folder, "checkout-index", "--force", "a.yaml")
    assert mark.exists()  # the marks are there to be left


def test_what_lies_outside_or_is_too_large_is_told(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "out.yaml").write_text(BASE, encoding="utf-8")
    for name, target in (("out.yaml", "../out.yaml"), ("absolute.yaml", str(tmp_path / "out.yaml"))):
        (folder / name).symlink_to(target)
    (folder / "loop.yaml").symlink_to("loop.yaml")
    commit(
        folder,
        {
            "over.yaml": "format: 1\nextends: ../out.yaml\n",
            "large.yaml": "format: 1\n" + "#" * MAX_BYTES,
            "d/x.yaml": BASE,
        },
    )
    wanted = "expected a settings file, came"
    outside = f"{wanted} a file outside of the repository in revision HEAD; check the path"
    with Revision("HEAD") as revision:
        for name in ("out.yaml", "absolute.yaml", "loop.yaml", "../out.yaml"):
            assert problems(read(name, revision)) == [f"{name}:1:1: {outside}"]
        assert problems(read("d", revision)) == [f"d:1:1: {wanted} a folder in revision HEAD; check the path"]
        assert problems(read("gone.yaml", revision)) == [
            f"gone.yaml:1:1: {wanted} no such file in revision HEAD; check the path"
        ]
        (large,) = problems(read("large.yaml", revision))
        assert large.startswith("large.yaml:1:1: expected a file of at most 2 MiB, came a larger one")
        (over,) = problems(read("over.yaml", revision))
        assert over.startswith("over.yaml:2:10: ")
        assert "out.yaml" in over
        assert revision.load(Path("d/x.yaml"), "x") == BASE.encode()  # what was not wanted is read over


def test_a_base_that_leads_back_is_told_through_links(folder: Path) -> None:
    (folder / "b.yaml").symlink_to("a.yaml")
    commit(folder, {"a.yaml": "format: 1\nextends: b.yaml\n"})
    with Revision("HEAD") as revision:
        assert problems(read("a.yaml", revision)) == problems(read("a.yaml"))


@pytest.mark.parametrize("name", ["gone", "--help", "HEAD:a.yaml", "HEAD^{tree}", "", "a b", "main..HEAD"])
def test_what_is_no_commit_is_told(folder: Path, name: str) -> None:
    commit(folder, {"a.yaml": BASE})
    with pytest.raises(RevisionError) as told:
        Revision(name)
    assert str(told.value) == (
        f"{name!r} is no commit of this repository; a clone that was not fetched whole may lack it"
    )


def test_no_repository_and_no_git_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    with pytest.raises(RevisionError, match=r"^git says: fatal: not a git repository"):
        Revision("HEAD")
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(RevisionError, match=r"^git cannot be run: No such file or directory$"):
        Revision("HEAD")


def test_a_content_that_the_clone_lacks_is_told(folder: Path) -> None:
    commit(folder, {"a.yaml": BASE, "b.yaml": BASE.replace("8", "4")})
    name = git(folder, "rev-parse", "HEAD:a.yaml")
    (folder / ".git" / "objects" / name[:2] / name[2:]).unlink()
    with Revision("HEAD") as revision:
        with pytest.raises(RevisionError) as told:
            revision.load(Path("a.yaml"), "a.yaml")
        assert revision.load(Path("b.yaml"), "b.yaml") == BASE.replace("8", "4").encode()
    assert str(told.value) == "this clone lacks some contents of the revision; fetch it whole"


def test_nothing_is_fetched(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A clone without contents would fetch them when they are asked for."""
    first = commit(folder, {"a.yaml": BASE})
    commit(folder, {"a.yaml": BASE.replace("8", "4")})
    git(folder, "config", "uploadpack.allowFilter", "true")
    git(tmp_path, "clone", "--quiet", "--no-local", "--filter=blob:none", str(folder), "part")
    monkeypatch.chdir(tmp_path / "part")
    packs = sorted((tmp_path / "part" / ".git" / "objects").rglob("*"))
    with Revision("HEAD") as revision:
        assert revision.load(Path("a.yaml"), "a.yaml") == BASE.replace("8", "4").encode()
    with Revision(first) as revision, pytest.raises(RevisionError) as told:
        revision.load(Path("a.yaml"), "a.yaml")
    assert str(told.value) == "this clone lacks some contents of the revision; fetch it whole"
    assert sorted((tmp_path / "part" / ".git" / "objects").rglob("*")) == packs
    assert git(tmp_path / "part", "cat-file", "blob", f"{first}:a.yaml") == BASE.strip()  # it can be fetched
