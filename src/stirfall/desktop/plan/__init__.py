"""The plan: what to open tonight and what to start, the proof of a recipe, and the rehearsal of a campaign."""
