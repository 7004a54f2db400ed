"""Constants that several parts of the physics need, in SI units."""

from __future__ import annotations

ZERO_C_K = 273.15
# J/(mol K), exact since the SI of 2019 (CODATA 2018).
GAS_CONSTANT = 8.314462618
