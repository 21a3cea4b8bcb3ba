"""The neutral settings format: schema, reader and positions."""
