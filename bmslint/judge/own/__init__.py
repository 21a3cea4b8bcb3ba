"""Rules of one's own: folders that are judged together with the built-in rules."""
