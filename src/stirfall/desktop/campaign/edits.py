"""What one change of a campaign form brings along: a metal fills in its row, another bottle is asked anew."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from stirfall.bench.units import format_number
from stirfall.desktop.campaign.entries import plain_name
from stirfall.desktop.campaign.known_metals import metal_row, solid_row

if TYPE_CHECKING:
    from stirfall.desktop.campaign.form_state import CampaignForm

_OF_THE_BOTTLE = ("flash", "autoignition", "stated_max")


def with_edit(form: CampaignForm, name: str, value: object, *, decimal: str = ".") -> CampaignForm:
    """Return the form after one field was changed by the person, with all that follows from it."""
    changed = form.with_field(name, value)
    if changed == form:
        return form
    if name == "metal_key":
        return _with_metal(changed, decimal)
    if name == "solids_key":
        return _with_solids(changed)
    if name in ("oil", "bottle"):
        return _with_bottle(changed)
    if name in _OF_THE_BOTTLE:
        kept = (changed.flash, changed.autoignition, changed.stated_max)
        return replace(
            changed,
            flash_of=_bottle(changed),
            flash_kept=kept,
            asked_anew=changed.asked_anew and not changed.flash.strip(),
        )
    return changed


def _with_metal(form: CampaignForm, decimal: str) -> CampaignForm:
    """Take name, melting point and class of a metal of the table; own values of another metal go."""
    row = metal_row(form.metal_key)
    if row is None:
        return form
    melting = ""
    if row.melting_c is not None:
        melting = f"{format_number(row.melting_c.value, digits=6, decimal=decimal)} °C"
    filled = replace(form, metal=row.name, material=row.hazard, melting=melting)
    return replace(filled, metal_density="", metal_viscosity="", metal_tension="")


def _with_solids(form: CampaignForm) -> CampaignForm:
    row = solid_row(form.solids_key)
    return form if row is None else replace(form, solids_name=row.name, solids_density="")


def _with_bottle(form: CampaignForm) -> CampaignForm:
    """Empty what is written on a bottle when the bottle is another; the name as it was brings it back."""
    if _bottle(form) == form.flash_of:
        flash, autoignition, stated = form.flash_kept
        return replace(form, flash=flash, autoignition=autoignition, stated_max=stated, asked_anew=False)
    if not any(form.flash_kept):
        return form
    return replace(form, flash="", autoignition="", stated_max="", asked_anew=True)


def _bottle(form: CampaignForm) -> tuple[str, str]:
    return plain_name(form.oil), plain_name(form.bottle)
