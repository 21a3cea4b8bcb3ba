"""What a cell may endure: chemistry tables, overridden by the cell maker's data in the file."""
