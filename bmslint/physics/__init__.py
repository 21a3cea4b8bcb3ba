"""Pure functions in SI units, numpy only: conduction, surfaces, heaters, sensors."""
