"""What became of a rule in one file, told as a story for a person: plain words, numbers, no markup."""
