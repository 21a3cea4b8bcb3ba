"""What holds for every test."""

import os

# A reference library that counts its users does so without these tests.
os.environ["PYBAMM_DISABLE_TELEMETRY"] = "true"
