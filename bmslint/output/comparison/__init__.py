"""What a change did to settings files: for a person, for a program, and for a pull request."""
