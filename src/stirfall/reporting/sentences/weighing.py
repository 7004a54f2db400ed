"""Sentences for the codes of weighings and assays."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "measured.impossible": (
        "A number here cannot be used ({value}). Check the inputs; a divisor must be above zero."
    ),
    # One quiet line per attempt.
    "weighing.nothing_weighed": "Nothing was weighed.",
    "weighing.no_yield_yet": "Weigh charge and product to see a yield.",
    "weighing.line_yield": "Yield {gross_yield}{tail}.",
    "weighing.line_yield_closure": "Yield {gross_yield}, closure {closure}{tail}.",
    "weighing.line_yield_recovery": "Yield {gross_yield}, metal recovery {recovery}{tail}.",
    "weighing.line_yield_recovery_closure": (
        "Yield {gross_yield}, metal recovery {recovery}, closure {closure}{tail}."
    ),
    "weighing.k_is_1": " (u, k = 1)",
    "weighing.u_not_known": " (some u unknown)",
    "weighing.one_warning": "{line} One thing does not add up.",
    "weighing.more_warnings": "{line} {count} things do not add up.",
    # What does not add up.
    "weighing.closure_high": (
        "The parts weigh more than what went in: closure {closure}, above 102 %. Oil on the metal, or a tare "
        "that was not taken off? Weigh again."
    ),
    "weighing.closure_low": (
        "Something is missing: closure {closure}, below 95 %. Metal in the oil or on the tools, or a part that was "
        "not weighed?"
    ),
    "weighing.yield_over_charge": "The product weighs more than the charge: yield {gross}. Weigh both again.",
    "weighing.recovery_over_metal": (
        "More metal came out than the lot's assay says went in: recovery {recovery}. Oil or solids in the "
        "product, or an assay that is too low?"
    ),
    "weighing.recovery_high": (
        "The recovery of {recovery} is unusually high. Above 98 % it is worth weighing again (rule of thumb)."
    ),
    "weighing.recovery_low": (
        "The recovery of {recovery} is unusually low. Below 30 % it is worth weighing again (rule of thumb)."
    ),
    # What to know about beads.
    "weighing.oil_removed_how": (
        "How was the oil removed from the beads? Small beads carry oil that is weighed as metal."
    ),
    "weighing.oil_film": (
        "Beads that were not rinsed may carry {oil} of oil (film of 30 µm, a factor of 2 either way; our estimate)."
    ),
    "weighing.closure_without_oil": (
        "Closure as weighed {closure}; with that oil taken off {corrected}. The weighed figure stays the record."
    ),
    # What to enter to learn more.
    "weighing.needs_step": "Enter the smallest step of the balance to see uncertainties.",
    "weighing.needs_charge": "Enter the mass of the charge: every share is told of it.",
    "weighing.needs_product": "Enter the mass of the product, 0 where none formed, to see the yield.",
    "weighing.needs_residue": "Enter the mass of the residue to see whether the weighings close.",
    "weighing.needs_beads": "Beads were seen but not weighed, so the closure will be too low. Enter their mass.",
    "weighing.needs_purity": "Enter the purity of the product to see the metal recovery.",
    "weighing.needs_purity_u": (
        "Enter the standard uncertainty of the purity; without it, that of the recovery is unknown."
    ),
    "weighing.needs_lot": "Name the lot, with its metal by assay, to see the metal recovery.",
    "weighing.needs_metal_share": "Enter the metal in lot {lot} by assay to see the metal recovery.",
    "weighing.needs_metal_u": (
        "The assay of lot {lot} has no standard uncertainty, so that of the recovery is unknown. Assay three times."
    ),
    "weighing.share_from_solids": (
        "Lot {lot} has no assay. What its solids leave is taken as metal, {share}: an upper bound, so the "
        "recovery is rather too low, and its uncertainty is unknown."
    ),
    "weighing.needs_bead_size": "Enter the typical size of the beads to see how much oil they may carry.",
    "weighing.needs_metal_density": (
        "Enter the density of the metal in the campaign settings to see how much oil the beads may carry."
    ),
    "weighing.oil_density_taken": "The oil's density is unknown; {density} is taken, usual for light mineral oil.",
}
