"""What ``--help`` says beyond the options: commands by the order of the work, and an example or two of each.

Every example is a whole line that can be typed; a test reads each with its command.
"""

from __future__ import annotations

from collections.abc import Mapping

SECTIONS: Mapping[str, tuple[str, ...]] = {
    "Begin": ("demo", "open", "new", "import", "check"),
    "At the bench": ("shelf", "labels", "paper", "run", "log", "weigh", "assay", "agreement"),
    "Physics and limits": ("limits", "film", "melt"),
    "Learn": ("odds", "compare", "drift", "why", "rivals", "benches"),
    "Plan and prove": ("next", "tonight", "soonest", "rehearse", "proof"),
    "Share": ("recipe", "report", "export", "pool"),
    "This command": ("completion",),
}
EXAMPLES: Mapping[str, tuple[str, ...]] = {
    "demo": ("stirfall demo", "stirfall demo --help"),
    "open": ("stirfall open trial.stirfall",),
    "new": (
        "stirfall new trial.stirfall --title 'Dross, spring' --melting-point 138",
        "stirfall new copy.stirfall --package trial.zip",
        "stirfall new table.stirfall --from table.csv --outcome result --success clean --factor 'age=h:log'",
    ),
    "import": ("stirfall import trial.stirfall notebook.xlsx --dry-run",),
    "check": ("stirfall check trial.stirfall",),
    "shelf": ("stirfall shelf trial.stirfall", "stirfall shelf trial.stirfall --at 2026-03-02T18:00"),
    "labels": ("stirfall labels trial.stirfall --out labels.pdf",),
    "paper": ("stirfall paper trial.stirfall --out sheet.pdf",),
    "run": ("stirfall run trial.stirfall",),
    "log": ("stirfall log trial.stirfall logger.csv --attempt 12",),
    "weigh": ("stirfall weigh trial.stirfall",),
    "assay": ("stirfall assay --help",),
    "agreement": ("stirfall agreement trial.stirfall",),
    "limits": ("stirfall limits trial.stirfall --at temperature=160",),
    "film": ("stirfall film trial.stirfall",),
    "melt": ("stirfall melt trial.stirfall",),
    "odds": (
        "stirfall odds trial.stirfall",
        "stirfall odds trial.stirfall --at 'sample age=3 d' --at temperature=160",
    ),
    "compare": ("stirfall compare trial.stirfall --first lot=L1 --second lot=L2",),
    "drift": (
        "stirfall drift trial.stirfall",
        "stirfall drift trial.stirfall --mark 'new can of oil' --kind oil",
    ),
    "why": ("stirfall why trial.stirfall", "stirfall why trial.stirfall 31"),
    "rivals": ("stirfall rivals trial.stirfall",),
    "benches": ("stirfall benches pooled.stirfall",),
    "next": ("stirfall next trial.stirfall --count 3", "stirfall next trial.stirfall --goal reliable"),
    "tonight": ("stirfall tonight trial.stirfall",),
    "soonest": ("stirfall soonest trial.stirfall",),
    "rehearse": ("stirfall rehearse trial.stirfall",),
    "proof": ("stirfall proof trial.stirfall plan --claim 90 --confidence 95",),
    "recipe": (
        "stirfall recipe trial.stirfall --out recipe.pdf",
        "stirfall recipe trial.stirfall --batch 30g --sheet bench --out bench.pdf",
        "stirfall recipe trial.stirfall --issue --note 'for the club'",
        "stirfall recipe trial.stirfall --compare 1 now",
    ),
    "report": (
        "stirfall report trial.stirfall --out report.pdf",
        "stirfall report trial.stirfall --out bundle.zip",
    ),
    "export": ("stirfall export trial.stirfall --out trial.zip",),
    "pool": ("stirfall pool all.stirfall north.stirfall=North south.stirfall=South",),
    "completion": ("stirfall completion bash >> ~/.bashrc",),
}


def examples_of(name: str) -> str:
    """Return the examples of a command as the end of its help page, "" where there are none."""
    lines = EXAMPLES.get(name, ())
    if not lines:
        return ""
    heading = "Example:" if len(lines) == 1 else "Examples:"
    return "\b\n" + "\n".join([heading, *(f"  {line}" for line in lines)])
