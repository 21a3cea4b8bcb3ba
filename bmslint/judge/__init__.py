"""Loads a rule pack and evaluates it over settings, limits and facts."""
