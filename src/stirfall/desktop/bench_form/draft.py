"""The half-filled form as plain values for the draft in the session file, and back; pure."""

from __future__ import annotations

from collections.abc import Mapping

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.number_style import TEMPERATURE_UNITS
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.substances import SurfaceLook
from stirfall.desktop.bench_form.form import Entry, Form, Origin
from stirfall.desktop.shown import CAMPAIGN

VERSION = 2
"""1: without look, facts, sheet, reasons and plan; such drafts are still read."""


def to_draft(form: Form) -> dict[str, object]:
    """Return the form as plain JSON values, for the draft kept in the session file."""
    return {
        "version": VERSION,
        "jar_text": form.jar_text,
        "jar_id": form.jar_id,
        "lot_id": form.lot_id,
        "started_at": stamp(form.started_at) if form.started_at else None,
        "entries": {
            name: {"text": entry.text, "origin": entry.origin.value, "reason": entry.reason}
            for name, entry in form.entries.items()
        },
        "parted": form.parted.value if form.parted else None,
        "pooled": form.pooled.value if form.pooled else None,
        "aborted": form.aborted,
        "abort_reason": form.abort_reason,
        "masses": dict(form.masses),
        "note": form.note,
        "empties_jar": form.empties_jar,
        "photos": list(form.photos),
        "filled_from": form.filled_from,
        "look": form.look,
        "seen": dict(form.seen),
        "tares": dict(form.tares),
        "sheet": dict(form.sheet),
        "reasons": dict(form.reasons),
        "planned": dict(form.planned),
        "planned_jar": form.planned_jar,
        "run_id": form.run_id,
        "proof_id": form.proof_id,
        "temperature": form.temperature,
        "operator": form.operator,
        "tool": form.tool,
    }


def from_draft(draft: Mapping[str, object]) -> Form | None:
    """Return the form of a draft, or None when the draft cannot be read; a bad draft must never stop the window."""
    try:
        return _read_draft(draft)
    except (InputError, ValueError, TypeError, AttributeError, KeyError):
        return None


def _read_draft(draft: Mapping[str, object]) -> Form:
    entries = _mapping(draft["entries"])
    started, parted, pooled = (draft.get(key) for key in ("started_at", "parted", "pooled"))
    photos = draft.get("photos")
    return Form(
        jar_text=str(draft.get("jar_text") or ""),
        jar_id=_text_or_none(draft.get("jar_id")),
        lot_id=_text_or_none(draft.get("lot_id")),
        started_at=read_stamp(str(started)) if started else None,
        entries={name: _read_entry(_mapping(entry)) for name, entry in entries.items()},
        parted=Parted(str(parted)) if parted else None,
        pooled=Pooled(str(pooled)) if pooled else None,
        aborted=bool(draft.get("aborted")),
        abort_reason=str(draft.get("abort_reason") or ""),
        masses=_texts(draft.get("masses")),
        note=str(draft.get("note") or ""),
        empties_jar=bool(draft.get("empties_jar", True)),
        photos=tuple(str(path) for path in photos) if isinstance(photos, (list, tuple)) else (),
        filled_from=str(draft.get("filled_from") or ""),
        look=SurfaceLook(str(draft["look"])).value if draft.get("look") else "",
        seen=_texts(draft.get("seen")),
        tares=_texts(draft.get("tares")),
        sheet=_texts(draft.get("sheet")),
        reasons=_texts(draft.get("reasons")),
        planned=dict(Conditions(_mapping(draft.get("planned") or {}))),  # type: ignore[arg-type]  # checked by use
        planned_jar=_text_or_none(draft.get("planned_jar")),
        run_id=_text_or_none(draft.get("run_id")),
        proof_id=_text_or_none(draft.get("proof_id")),
        temperature=_temperature(draft.get("temperature")),
        operator=str(draft.get("operator") or ""),
        tool=str(draft.get("tool") or ""),
    )


def _read_entry(entry: Mapping[str, object]) -> Entry:
    return Entry(str(entry["text"]), Origin(str(entry["origin"])), str(entry.get("reason") or ""))


def _temperature(value: object) -> str:
    """Return the unit of bare temperatures; a draft that does not say one is of the time when all had their own."""
    if value is not None and value not in (CAMPAIGN, *TEMPERATURE_UNITS):
        raise ValueError(value)
    return CAMPAIGN if value is None else str(value)


def _texts(value: object) -> dict[str, str]:
    return {str(name): str(text) for name, text in _mapping(value or {}).items()}


def _mapping(value: object) -> Mapping[str, object]:
    if not isinstance(value, Mapping):
        raise TypeError(type(value).__name__)
    return value


def _text_or_none(value: object) -> str | None:
    return None if value is None else str(value)
