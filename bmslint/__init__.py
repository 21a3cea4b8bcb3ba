"""Validator and linter for the protection settings of lithium battery packs."""

__version__ = "0.1.0"
