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

CONFIDENCES = {
    "default": "default properties with a range",
    "chemistry table": "the table of the chemistry",
    "cell maker": "the cell maker's data in the file",
    "declared": "what the file declares",
    "measured": "measured data",
}
