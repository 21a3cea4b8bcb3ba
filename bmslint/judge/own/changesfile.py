"""The form of `changes.yaml`, by which a folder of one's own changes rules of others.

    rules:
      warm-up-too-long:
        parameters: {most_min: 480}
        reason: our sites are visited within eight hours
      heater-cutout-missing: {severity: review, reason: the film of our supplier cannot exceed 60 degC}
      fuse-missing: {switched_off: true, reason: the fuse is part of the vehicle and is judged there}

`bmslint rules ID` shows the parameters of a rule. Each change needs its reason, and each run shows it.
A rule is changed by one folder only, so that the order of folders decides nothing.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bmslint.judge.rulefile import ParameterName, Part, RuleId, Text


class RuleChanges(Part):
    """What becomes of one rule."""

    severity: Literal["reject", "review", "note"] | None = Field(default=None, description="New severity.")
    switched_off: Literal[True] | None = Field(default=None, description="The rule is not judged.")
    parameters: Annotated[dict[ParameterName, float], Field(min_length=1)] | None = Field(
        default=None, description="New values of the rule's parameters, in their units."
    )
    reason: Text = Field(description="Why; shown on every run.")


class ChangesFile(Part):
    """The whole of `changes.yaml`."""

    rules: Annotated[dict[RuleId, RuleChanges], Field(min_length=1)] = Field(
        description="Changes by the rule's id."
    )
