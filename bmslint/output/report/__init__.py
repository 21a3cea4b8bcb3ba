"""One self-contained page about settings files, for a person who has to decide or to answer."""
