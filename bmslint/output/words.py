"""Words that every output uses for the same thing."""

CAUTION = (
    "A clean result is not a certification. The cell maker's datasheet, the applicable standards and local "
    "codes, and a qualified person decide. Physical tests on cold or damaged cells can end in fire."
)
"""Stands under every verdict."""

VERDICTS = {
    "accepted": "every rule that applies holds",
    "review": "a person must look before flashing",
    "rejected": "do not flash",
    "not judged": "what decides is not in the file",
    "unusable": "the file could not be read",
}

SEVERITIES_SAID = {
    "reject": "do not flash these settings",
    "review": "a person must look before flashing",
    "note": "worth knowing; it changes no verdict",
}
"""What each severity asks of a person."""

TAKEN_ON = "every rule that applies holds, or a person took on what it found"
"""What `accepted` means where it rests on findings that do not count."""

HELD_BACK = "nothing new is found, and what was there is held back by the baseline"
"""What `accepted` means where a baseline is in force and knows what it found."""

ACCEPTED = {
    "holds": "does not count",
    "reject counts": "counts: a `reject` is taken on only with --allow-accepted-rejects",
    "past its date": "counts again",
    "no finding": "there is no finding of this rule",
    "not judged": "the rule was not judged",
    "incomplete": "counts: rule, reason, by and until are all needed",
    "impossible date": "counts: the calendar has no such day",
    "unknown rule": "there is no such rule",
}
"""What became of a finding that a person took on."""

NOT_APPLICABLE = {
    "holds": "not judged, and not asked for",
    "not needed": "the entry is not needed",
    "incomplete": "the rule is asked for: rule and reason are both needed",
    "unknown rule": "there is no such rule",
}
"""What became of a rule that a file says does not concern it."""

CONFIDENCES = {
    "default": "default properties with a range",
    "chemistry table": "the table of the chemistry",
    "cell maker": "the cell maker's data in the file",
    "declared": "what the file declares",
    "measured": "measured data",
}
