"""Derived quantities: settings and limits fed to the physics, results named."""
