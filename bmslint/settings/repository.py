"""Where a repository begins."""

from pathlib import Path


def repository_root(folder: Path) -> Path | None:
    """Find the repository that a folder lies in.

    Args:
        folder: An absolute path.

    Returns:
        The nearest folder from there upward that holds `.git`, be it a folder or, as in a work tree or a
        part of another repository, a file; None if there is none.
    """
    return next((each for each in (folder, *folder.parents) if (each / ".git").exists()), None)
