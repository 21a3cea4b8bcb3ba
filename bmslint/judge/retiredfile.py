"""The form of a file in `rules/retired/`: a rule that is no longer run, kept for those who meet its id.

One YAML document. The id is the file's name without `.yaml` and stays in `rules/ids.txt`; no rule that is
run may have it again.
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Text = Annotated[str, Field(min_length=1)]
RuleId = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]


class RetiredFile(BaseModel):
    """What an old id still tells."""

    model_config = ConfigDict(extra="forbid", strict=True)

    id: RuleId = Field(description="The file's stem.")
    title: Text = Field(description="What the rule said was wrong, in one line.")
    severity: Literal["reject", "review", "note"] = Field(description="What it asked for.")
    why: Text = Field(description="What it did to the cells, in the rule's own words.")
    retired_in: Text = Field(description="Version that no longer runs it.")
    retired_because: Text = Field(description="Why it is no longer run.")
    instead: list[RuleId] = Field(default=[], description="Rules that speak of the same now.")
