"""Sentences for the codes of the melt physics."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "material.law": "The table names the law “{kind}”, or gives it wrong numbers. Known laws: {known}.",
    "materials.unreadable": (
        "The table {path} cannot be read (at {row}). Install Stirfall again; nothing in the session was changed."
    ),
    "oil.one_temperature": (
        "Both viscosities of the oil are at {at} °C. Enter them at two temperatures that lie apart, as on "
        "its sheet."
    ),
    "oil.viscosity_rises": (
        "The oil would be {cold} mm²/s at {cold_at} °C and {hot} mm²/s at {hot_at} °C, but an oil thins as "
        "it warms. Check the two viscosities in the campaign settings."
    ),
    "melt.class_differs": (
        "The table lists {metal} as {hazard}, and this campaign is set to {chosen}. Check the class of metal."
    ),
    "melt.melting_unknown": "The melting point is unknown. Enter it, or choose a metal of the table.",
    "melt.solid": "At {at} the metal is still solid; it melts at {melting}.",
    "melt.metal_density": "The melt weighs {value} kg/m³{kind}.",
    "melt.metal_density_unknown": "The density of the melt is unknown: choose a metal of the table, or enter it.",
    "melt.metal_viscosity": "The melt's viscosity is {value} mPa s{kind}.",
    "melt.metal_viscosity_unknown": (
        "The viscosity of the melt is unknown: choose a metal of the table, or enter it."
    ),
    "melt.tension": (
        "Its surface tension against gas is {value} mN/m{kind}; against oil it is lower, how much is unknown."
    ),
    "melt.tension_unknown": "The surface tension of the melt is unknown: enter it where you know it.",
    "melt.oil_density": "The oil weighs {value} kg/m³{kind}.",
    "melt.oil_density_unknown": (
        "The density of the oil is unknown: enter it with its temperature, from the oil's sheet."
    ),
    "melt.oil_viscosity": "The oil's viscosity is {value} mPa s{kind}.",
    "melt.oil_viscosity_unknown": (
        "The viscosity of the oil is unknown: enter its density and two viscosities, from the oil's sheet."
    ),
    "melt.kind_within": " (within {percent} %)",
    "melt.kind_estimate": " (an estimate)",
    "melt.kind_extrapolated": " (carried {kelvin} K beyond what was measured)",
    "melt.solids_fall": "The solids fall in the melt: {solid} against {metal} kg/m³.",
    "melt.solids_float": "The solids float on the melt: {solid} against {metal} kg/m³.",
    "melt.solids_unknown": "Whether the solids fall or float is unknown: enter what they are, or their density.",
    "melt.settling_fall_pool": (
        "Free grains fall through a pool of {depth} mm in {quick} ({large} µm) to {slow} ({small} µm)."
    ),
    "melt.settling_rise_pool": (
        "Free grains rise through a pool of {depth} mm in {quick} ({large} µm) to {slow} ({small} µm)."
    ),
    "melt.settling_fall_usual": "Free grains fall {depth} mm in {quick} ({large} µm) to {slow} ({small} µm).",
    "melt.settling_rise_usual": "Free grains rise {depth} mm in {quick} ({large} µm) to {slow} ({small} µm).",
    "melt.settling_unknown": (
        "How fast the solids part is unknown: enter their density and the range of their sizes."
    ),
    "melt.solids_sink_in_oil": "Solids that have left the metal sink in this oil ({solid} kg/m³).",
    "melt.solids_float_in_oil": "Solids that have left the metal float in this oil ({solid} kg/m³).",
    "melt.solids_in_oil_unknown": "Whether the solids sink in the oil is unknown: enter both densities.",
    "melt.beads_sink": "Beads sink in this oil, {drop} kg/m³ heavier than it.",
    "melt.beads_float": (
        "Beads float in this oil, {drop} kg/m³ lighter than it, and are then not covered. Check the cover."
    ),
    "melt.beads_neutral": (
        "Beads are about as heavy as this oil ({drop} kg/m³ apart): they hardly sink, and little weight "
        "presses them together. Check that they stay covered."
    ),
    "melt.beads_unknown": "Whether beads sink in this oil is unknown: enter the densities of metal and oil.",
    "melt.drainage": (
        "Two clean beads of {bead} mm need at most about {time} to merge under their own weight. Beads "
        "that rest much longer are skinned: waiting is then no cure."
    ),
    "melt.drainage_unknown": (
        "How long clean beads need to merge is unknown: enter the oil's viscosity and density."
    ),
    "melt.drainage_needs_tension": (
        "How long clean beads need to merge is unknown: enter the surface tension of the melt where you know it."
    ),
    "melt.no_stirring_speed": (
        "The speed of the stirrer's tip is unknown: this campaign has no factor for turns a minute."
    ),
    "melt.skin": (
        "By its own weight only a bead of about {diameter} mm or more could break a skin such as gallium "
        "has; smaller ones must be pressed."
    ),
    "melt.skin_unknown": "Which bead could break a skin is unknown: enter the densities of metal and oil.",
    "melt.tip_speed": "Stirring at {turns} turns a minute on a circle of {circle} mm moves the tip at {speed} m/s.",
    "melt.tip_unknown": "The speed of the stirrer's tip is unknown: enter the diameter of the stirring circle.",
    "melt.weber_tears": (
        "A drop of {size} mm is torn at this speed (Weber number {weber}, above about {limit}): stirring "
        "makes new beads."
    ),
    "melt.weber_holds": (
        "A drop of {size} mm holds together at this speed (Weber number {weber}, tears above {limit})."
    ),
    "melt.weber_unknown": "Whether stirring tears drops is unknown: the tension or density of the melt is missing.",
    "melt.enter_metal": "Choose the metal from the table, or enter the density of its melt.",
    "melt.enter_melting": "Enter the melting point of the metal.",
    "melt.enter_solids": "Say what the solids are, or enter their density.",
    "melt.enter_sizes": "Enter the range of the solids' sizes in µm.",
    "melt.enter_oil_density": "Enter the density of the oil and its temperature.",
    "melt.enter_oil_viscosity": "Enter the oil's viscosity at two temperatures.",
    "melt.enter_stirrer": "Enter the diameter of the stirring circle.",
}
