"""The form of a rule file; `python -m bmslint.judge.rulefile` writes its compiled schema anew.

A rule file lies in `rules/<family>/<id>.yaml` and holds two YAML documents: the rule, and after a
line `---` its examples. A run reads only the first, the tests run the second.

**The rule**

id, title
    The id is the file's name without `.yaml`, in lower case with hyphens, and stands in
    `rules/ids.txt` for ever.
severity
    `reject` (do not flash), `review` (a person must look) or `note`. A `reject` must have `sources`,
    `why`, `remedy`, `does_not_apply_to` and `known_false_alarms`.
needs
    Paths that must be there beyond those that the expressions name. Rarely wanted: every path that
    `applies`, `require`, `value` or `limit` names must be there for the rule to be judged, unless
    the same expression asks for it by `has(...)`.
each
    One path, or a list of paths, of settings or `limits`, with `*` for any key of a mapping and `[*]`
    for any item of a list: `sensors.*`, `charge_paths[*]`, `protection.*.sensors[*]`,
    `limits.looser[*]`. The rule is evaluated for each match with the variables `item` (the value), `key`
    (its last key; for a list its position from 0.0) and `here` (its path). No match: the rule does
    not apply, or, if what stands before the wildcards is missing as well, it is not judged.
    `entries.accepted[*]` and `entries.not_applicable[*]` are what the file itself says of findings: such
    a rule runs after the others, finds below `item` what `bmslint/judge/entry_names.py` lists, and may
    not suggest anything.
parameters
    Numbers of judgement that a pack of one's own may replace: by name `{value, unit, means}`. Written
    `parameters.name` in expressions and templates, where the value is put in when the pack loads.
applies
    Condition; where it is false the rule does not apply.
require
    The condition that must hold. False: the rule speaks.
value, limit, unit
    Expressions for the number (or text) that is wrong and the one that it is held against.
at
    The setting to blame, a path; a template, so `{here}.max_A`, `sensors.{key}` and `{item.path}` work.
    Left out in a rule with `each`, it is `{here}`.
also_at
    Other settings involved; those that the file does not have are left out.
says
    The message, a template.
why, remedy
    What it does to the cells, and what to do. Plain text.
suggest
    `{set: path, to: expression}`; each is tried by itself on the file, judged again by every rule,
    and shown only if the rule then holds at nominal properties and nothing else speaks that did not
    before. One whose expression lacks data is left out.
covers
    Ids of rules that are silenced when this one speaks (of the same `here` if both have `each`),
    so that one cause gives one finding. A more severe finding is never silenced.
does_not_apply_to, known_false_alarms
    Plain text. Where none is known, say "none known".
sources
    `{title, clause, how}`; how is `read`, `common practice` or `unverified`.

**Expressions** are CEL. Variables: the sections of the settings file (`protection.charge_cold...`),
`settings` (the whole file, for `has(settings.heater)`), `facts`, `limits`, and in rules with `each`
`item`, `key`, `here`. Every number of the data is decimal: write `x + 1.0`, never `x + 1`
(refused when the pack loads); `x > 1` is fine, so are `size(list) > 1` and `list[0]`.
`not_above(x, limit, tolerance)` is x <= limit + tolerance, `not_below(x, limit, tolerance)` is
x >= limit - tolerance, all decimal: use them where sums are compared, for 3.45 + 0.2 is above 3.65.
At most 2,000 characters, two `map` and 32 levels; about 10,000 steps of macros in one evaluation.

**When a rule is not judged or does not apply.** A path below something that the file declares as
`none` (`heater.power_W` with `heater: none`), or a fact that is not defined in this run, makes the
rule not apply; so does an empty list or mapping walked by `all`, `exists`, `filter` or `map`. Any other
missing path makes it not judged, with the settings that would give it. `applies` is evaluated as
soon as its own paths are there.

**Unfavourable properties.** A rule that names a fact with a range is evaluated at nominal values and
again at the unfavourable end. If only the second fails the severity is one step lower (a `note`
stays silent) and the message begins "With unfavourable properties: ".

**Unverified limits.** No `reject` rests on a row of the chemistry table that nobody verified
(`how: unverified`): where such a rule fails and a limit that it names has no better source, the finding is
a `review`, and the message ends with the row's own words. The cell maker's data in the file replace the
row. A rule that comes to a limit only through a fact names it under `needs`.

**Templates.** `{path}` or `{path:.1f}` with .0f, .1f, .2f, .3f; paths as in expressions, and `value`,
`limit`. A missing value reads "(not given)". Write a full stop at the end of a message.

**Examples**: `examples:`, a list of

name, on
    What it shows, and a profile of `profiles/` by its stem, which must be clean of this rule.
set, remove
    Paths to give another value or to take out.
expect
    `fail`, `pass`, `does_not_apply` or `not_judged`: the rule's own state.
finding
    With `fail`: the whole finding (or a list of them, if the rule speaks more than once): `severity`,
    `confidence`, `path`, `value`, `limit`, `unit`, `message`, `related` (paths), `suggest`,
    `unfavourable_only`. A key left out means its absence: no value, no limit, unit "", nothing related,
    nothing suggested, not only unfavourable. A number is compared as far as it is written, with
    at least one decimal. Line and column are compared with where the file has the path.
also
    Ids of other rules that speak in this example and do not on the profile itself. With `fail` and
    `pass` no other rule may speak newly; with the other two states others are not looked at.
missing
    With `not_judged`: exactly the settings that the rule says are missing.
reason
    With `does_not_apply`: the reason, if it is worth holding.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from bmslint.judge.read import COMPILED
from bmslint.settings.compiled import dumps, generate, import_model

Text = Annotated[str, Field(min_length=1)]
RuleId = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
Texts = Annotated[list[Text], Field(max_length=50)]
ParameterName = Annotated[str, Field(pattern=r"^[a-z][A-Za-z0-9_]*$")]


class Part(BaseModel):
    """What every part of a file of a pack has in common: no key beside those that are known."""

    model_config = ConfigDict(extra="forbid", strict=True)


class RuleSource(Part):
    """Where a rule's claim can be found."""

    title: Text = Field(description="Author, title, year; or the practice in a few words.")
    clause: str = Field(default="", description="Chapter, clause, table or page.")
    how: Literal["read", "common practice", "unverified"] = Field(description="How it is known.")


class Suggestion(Part):
    """A setting to change, and the expression of its new value."""

    set: Text = Field(description="Path of the setting.")
    to: Text = Field(description="Expression of the value to try.")


class RuleParameter(Part):
    """A number of judgement that a pack of one's own may replace."""

    value: float = Field(description="The number, in its unit.")
    unit: str = Field(description="Its unit; empty for a count or a ratio.")
    means: Text = Field(description="One sentence for who replaces it.")


class _Rule(Part):
    id: RuleId = Field(description="The file's stem.")
    title: Text = Field(description="What is wrong, in one line.")
    needs: Texts = Field(default=[], description="Further paths that must be there.")
    each: Text | Texts = Field(default=[], description="Paths with wildcards.")
    parameters: dict[ParameterName, RuleParameter] = Field(default={}, description="Numbers of judgement.")
    applies: Text | None = Field(default=None, description="Condition for the rule to apply.")
    require: Text = Field(description="Condition that must hold.")
    value: Text | None = Field(default=None, description="Expression of the value at fault.")
    limit: Text | None = Field(default=None, description="Expression of what it is held against.")
    unit: str = Field(default="", description="Unit of value and limit.")
    at: Text | None = Field(default=None, description="Path of the setting to blame.")
    also_at: Texts = Field(default=[], description="Paths of other settings involved.")
    says: Text = Field(description="The message, a template.")
    suggest: list[Suggestion] = Field(default=[], max_length=10, description="Ways out to try.")
    covers: list[RuleId] = Field(
        default=[], max_length=50, description="Rules silenced when this one speaks."
    )


class RejectRule(_Rule):
    """A rule that forbids to flash must say why, for whom not, and from where."""

    severity: Literal["reject"]
    why: Text
    remedy: Text
    does_not_apply_to: Text
    known_false_alarms: Text
    sources: Annotated[list[RuleSource], Field(min_length=1)]


class ReviewRule(_Rule):
    """A rule that asks a person to look."""

    severity: Literal["review"]
    why: Text
    remedy: Text
    does_not_apply_to: str = ""
    known_false_alarms: str = ""
    sources: list[RuleSource] = []


class NoteRule(_Rule):
    """A rule that only remarks."""

    severity: Literal["note"]
    why: Text
    remedy: Text
    does_not_apply_to: str = ""
    known_false_alarms: str = ""
    sources: list[RuleSource] = []


class RuleFile(Part):
    """The first document of a rule file."""

    rule: Annotated[RejectRule | ReviewRule | NoteRule, Field(discriminator="severity")]


class ExpectedFinding(Part):
    """A finding as an example states it."""

    severity: Literal["reject", "review", "note"]
    confidence: Text
    path: Text
    value: bool | float | str | None = None
    limit: bool | float | str | None = None
    unit: str = ""
    message: Text
    related: list[str] = []
    suggest: list[dict[str, Any]] = []
    unfavourable_only: bool = False


class Example(Part):
    """A patch on a profile, and what the rule must make of it."""

    name: Text
    on: Text
    set: dict[str, Any] = {}
    remove: list[str] = []
    expect: Literal["fail", "pass", "does_not_apply", "not_judged"]
    finding: ExpectedFinding | list[ExpectedFinding] = []
    also: list[RuleId] = []
    missing: list[str] = []
    reason: str = ""


class ExamplesFile(Part):
    """The second document of a rule file."""

    examples: Annotated[list[Example], Field(min_length=1)]


def write_compiled() -> None:
    """Write the compiled schema of the first document anew, beside this module."""
    model = import_model("bmslint.judge.rulefile:RuleFile")  # not __main__'s, whose name would be kept
    COMPILED.write_text(dumps(generate(model)), encoding="utf-8")


if __name__ == "__main__":
    write_compiled()
