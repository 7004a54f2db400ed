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
    # Assays.
    "assay.trained_only": (
        "Results only. Such a measurement on a reactive metal is for trained people, by their own procedure and "
        "under local rules; none is given here."
    ),
    "assay.not_positive": "“{name}” must be above zero, not {value}.",
    "assay.none": "Give at least one result.",
    "assay.no_share": "A mean of {mean} is no share of metal in a lot. Check the assays.",
    "assay.no_buoyancy": (
        "The piece weighs {liquid} g in the liquid and {air} g in air. It must be lighter in the liquid: exchange "
        "the two numbers, or weigh again."
    ),
    "assay.same_density": (
        "Densities of {metal} and {solid} kg/m³ cannot tell metal and solids apart. They must differ, and be above "
        "zero."
    ),
    "assay.vapour": (
        "Over water, {temperature} °C and {pressure} kPa cannot be: give 0 to 100 °C, and a pressure above that of "
        "the water vapour."
    ),
    "assay.repeatability_left_out": (
        "No repeatability was given, so the scatter between titrations is not in u, which is then too small."
    ),
    "assay.u_unknown": "The standard uncertainty of some input is unknown, so that of the result is unknown too.",
    "assay.counts_all_base": (
        "A titrated base counts metal, oxide and hydroxide together, so alone it shows no purity. With the "
        "hydrogen of the same sample it tells the oxidised share."
    ),
    "assay.dry_taken": "The gas was taken as dry. If it stood over water, say so: at 20 °C that is 2.4 %.",
    "assay.oxidised_negative": (
        "An oxidised share of {share} cannot be: more hydrogen than the base allows. One of the two results is off."
    ),
    "assay.over_whole": "A share of {share} is more than the whole sample. Check the numbers.",
    "assay.purity_at_most": (
        "Purity at most {bound} (95 %, one-sided). Voids hide solids: 1 % of voids hides {hides} % of them."
    ),
    "assay.purity_at_least": (
        "Purity at least {bound} (95 %, one-sided), if nothing heavier than the metal is in it. 1 % of voids looks "
        "like {hides} % of solids."
    ),
    "assay.detection": "Less than {detection} of solids would not show (two standard uncertainties).",
    "assay.has_voids": (
        "The density lies below that of the metal by more than two standard uncertainties, so there are voids, and "
        "solids may hide. The bound says little."
    ),
    "assay.one_only": "One assay says nothing about scatter. Three or more give an uncertainty of their own.",
    "assay.no_scatter": (
        "The assays agree to the last digit, which tells no scatter, so the uncertainty is unknown. Give more "
        "digits, or the standard uncertainty of one assay."
    ),
    "assay.number": (
        "“{text}” is no measured value. Write the value and its standard uncertainty: “0.3888 ± 0.0001”."
    ),
    "weigh.attempt_unknown": "There is no attempt {number} in this session.",
    "weigh.none": "No attempt has been weighed yet.",
}
