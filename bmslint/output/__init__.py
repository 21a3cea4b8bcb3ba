"""One small module for each output."""
