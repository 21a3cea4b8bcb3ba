"""Where the shipped rule data lies."""

from pathlib import Path


def rules_dir() -> Path:
    """Give the folder that holds the built-in rule pack and the chemistry tables.

    An installed wheel carries it inside the package; an editable install has it beside the package.

    Returns:
        The folder `rules`.
    """
    packaged = Path(__file__).parent / "rules"
    return packaged if packaged.is_dir() else Path(__file__).parents[1] / "rules"
