"""Repositories for tests, made by git with nothing of the surroundings in them."""

import os
import subprocess
from pathlib import Path

SURROUNDINGS = {
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_AUTHOR_NAME": "a person",
    "GIT_AUTHOR_EMAIL": "person@example.com",
    "GIT_COMMITTER_NAME": "a person",
    "GIT_COMMITTER_EMAIL": "person@example.com",
    "GIT_AUTHOR_DATE": "2026-07-01T00:00:00Z",
    "GIT_COMMITTER_DATE": "2026-07-01T00:00:00Z",
}


def git(folder: Path, *arguments: str) -> str:
    """Run git in a folder and give what it says."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    run = subprocess.run(
        ["git", *arguments],
        cwd=folder,
        env=environment | SURROUNDINGS,
        check=True,
        capture_output=True,
        text=True,
        timeout=60,
    )
    return run.stdout.strip()


def repository(folder: Path) -> Path:
    """Begin a repository."""
    folder.mkdir(exist_ok=True)
    git(folder, "init", "--quiet", "--initial-branch", "main")
    return folder


def commit(folder: Path, files: dict[str, str | None]) -> str:
    """Write files, take out those that are None, and commit; give the commit's name."""
    for name, text in files.items():
        path = folder / name
        if text is None:
            path.unlink()
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    git(folder, "add", "--all")
    git(folder, "commit", "--quiet", "--message", "a change")
    return git(folder, "rev-parse", "HEAD")
